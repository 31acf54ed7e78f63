"""Needs are met by given fields, and the fields named for a fact let the core work it out.

Nothing but names and quoted words gets into generated code.
"""

import dataclasses

import pytest

from drawmark import rules
from drawmark.fitting.model import Arrow, Point
from drawmark.rules import testing
from drawmark.rules.needs import FACT_FIELDS, compile_needs, explain_need, fields_behind
from drawmark.rules.rule_call import case_of
from rules.bench import FACTS, FITTING, plugin, rule, ruleset, says

(GROUP,) = ruleset(plugin(says())).groups


def given(fitting, *needs):
    return compile_needs(tuple(needs))(case_of(fitting, FACTS, GROUP))


@pytest.mark.parametrize(
    ("need", "is_met"),
    [
        ("arrow.length", True),
        ("arrow.mass", False),
        ("arrow.mass|arrow.length", True),
        ("arrow.point.mass", True),
        ("arrow.shaft.material", False),
        ("arrow", True),
        ("local", False),
        ("local.position", False),
        ("facts.draw", True),
        ("facts.variation", False),
        ("facts.mean_draw", True),  # its older name, which asks for the same without a warning
        ("bow.kind=recurve", True),
        ("bow.kind=compound", False),
        ("arrow.shaft.material=wood", True),  # not given: it may be wood
    ],
)
def test_which_needs_are_met(need, is_met):
    fitting = dataclasses.replace(FITTING, arrow=Arrow(length=0.8, point=Point(mass=0.006)))
    assert given(fitting, need, "arrow.length") == (is_met, True)


def test_an_older_name_of_a_fact_may_be_needed():
    assert explain_need("facts.mean_draw", None) is None
    assert explain_need("facts.mean", None) is not None


def test_no_needs():
    assert given(FITTING) == ()


@pytest.mark.parametrize("need", ["arrow.length or 1", "arrow.length)", "bow.kind() is None"])
def test_code_is_no_need(need):
    with pytest.raises(ValueError, match="is not a dotted path"):
        compile_needs((need,))


def test_a_word_is_only_ever_text():
    assert given(FITTING, "bow.kind=' or True or '") == (False,)


def test_fields_behind_a_need():
    assert fields_behind("local.position|bow.clicker_range", "aid") == (
        "local.aid.position|bow.clicker_range",
    )
    assert fields_behind("facts.usable_length", "aid") == ("arrow.length",)


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
