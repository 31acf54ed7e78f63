"""Fields that are named for a fact let the core work it out, and none of them is named in vain."""

from __future__ import annotations

import pytest

from drawmark import rules
from drawmark.rules import testing
from drawmark.rules.needs import FACT_FIELDS
from rules.bench import plugin, rule

VALUES = {
    "archer.draws": ["28 in"] * 6,
    "arrow.length": "29 in",
    "arrow.mass": "300 gr",
    "arrow.balance_point": "16 in",
    "arrow.point.mass": "90 gr",
    "arrow.shaft.static_spine": "700 astm",
    "arrow.shaft.mass_per_length": "6 gr/in",
    "bow.draw_weight": "30 lbf",
    "bow.draw_weight_basis": "own_draw",
}


def ask(fact, given):
    """What a rule that needs a fact says where some fields are given."""
    parts = {"archer": {"draw_length": None}, "bow": {}, "arrow": {"length": None}}
    if not any(path.startswith("archer.") for path in given):
        parts["archer"] = {}
    for path in given:
        *way, name = path.split(".")
        table = parts
        for step in way:
            table = table.setdefault(step, {})
        table[name] = VALUES[path]
    if "draw_weight" in parts["bow"]:
        parts["bow"]["draw_weight_basis"] = "own_draw"
    asking = rule(lambda case: [rules.note("asked")], needs=(f"facts.{fact}",))
    return testing.judge(plugin(asking), **parts)


@pytest.mark.parametrize("fact", FACT_FIELDS)
def test_named_fields_are_enough_and_given_ones_are_not_named(fact):
    given = []
    (lacking,) = ask(fact, given).not_checked
    for path in lacking.fields:
        given.append(path.split("|")[0])
        outcome = ask(fact, given)
        named = {each for one in outcome.not_checked for each in one.fields}
        assert path not in named
    assert [placed.said.message for placed in outcome.findings] == ["asked"]
    assert not outcome.not_checked
