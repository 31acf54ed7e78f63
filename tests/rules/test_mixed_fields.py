"""Some fields may differ within a column, until a plugin's rule looks at one."""

import dataclasses
from contextlib import suppress

import msgspec
import numpy as np
import pytest

from drawmark import rules
from drawmark.fitting.columns import MixedError
from drawmark.fitting.model import Arrow
from drawmark.rules.column_trees import picker
from drawmark.rules.evaluate import evaluate
from drawmark.rules.evaluate_batch import evaluate_many
from drawmark.rules.mixed_fields import Mixed
from drawmark.web.wire.installed_rules import core_rules
from rules.bench import FACTS, FITTING, plugin, rule, ruleset, says

SIZE = 25
LENGTHS = np.linspace(0.60, 0.90, SIZE)
HANDS = [None, "left", "right", "left", None] * 5
MOST = [0.7, None, 0.72, 0.74, None] * 5
LIMITED = [most is not None for most in MOST]
HAND = np.array(HANDS, dtype=np.object_).view(Mixed)
LIMIT = np.array([np.inf if most is None else most for most in MOST]).view(Mixed)
MANY = dataclasses.replace(FITTING, arrow=Arrow(length=LENGTHS))
MANY_FACTS = msgspec.structs.replace(FACTS, usable_length=LENGTHS, draw=LENGTHS - 0.1)
CORE = core_rules().registry.plugins


def with_both():
    archer = dataclasses.replace(MANY.archer, string_hand=HAND)
    bow = dataclasses.replace(MANY.bow, maximum_draw=LIMIT)
    return dataclasses.replace(MANY, archer=archer, bow=bow)


def ask(chosen):
    return evaluate_many(with_both(), chosen, SIZE, facts=MANY_FACTS)


def looks_at_hand(case):
    yield rules.caution("left", when=case.archer.string_hand == "left")


def looks_and_hides_it(case):
    with suppress(Exception):
        yield from looks_at_hand(case)


def looks_at_every_word(case):
    told = dataclasses.asdict(case.archer)
    yield rules.caution("left", when=told["string_hand"] == "left")


def looks_at_limit(case):
    most = case.bow.maximum_draw
    yield rules.caution("limited", when=most is not None)


def looks_at_none(case):
    yield rules.caution("long", when=case.arrow.length > 0.7)


@pytest.mark.parametrize(
    ("checks", "kinds"),
    [
        ([looks_at_hand], HANDS),
        ([looks_and_hides_it], HANDS),
        ([looks_at_every_word], HANDS),
        ([looks_at_limit], LIMITED),
        ([looks_at_hand, looks_at_limit], list(zip(HANDS, LIMITED, strict=True))),
    ],
)
def test_rules_that_look_at_fields_that_differ_part_the_column_at_once(checks, kinds):
    plugins = [
        plugin(rule(check, check_many=check), name=name)
        for name, check in zip("ab", checks, strict=False)
    ]
    with pytest.raises(MixedError) as mixed:
        ask(ruleset(*plugins))
    parts = [{kinds[at] for at in np.flatnonzero(part)} for part in mixed.value.parts]
    assert sorted(map(len, parts)) == [1] * len(set(kinds))
    assert set().union(*parts) == set(kinds)


def test_nobody_is_asked_item_by_item_of_a_column_that_is_to_be_parted():
    asked = []
    alone = plugin(rule(lambda case: asked.append(case) or ()), name="a")
    looks = plugin(rule(looks_at_hand, check_many=looks_at_hand), name="b")
    with pytest.raises(MixedError):
        ask(ruleset(alone, looks))
    assert asked == []


@pytest.mark.parametrize("need", ["archer.string_hand", "bow.maximum_draw"])
def test_a_need_of_a_field_that_differs_parts_the_column(need):
    needy = rule(says(rules.note("n")), check_many=says(), needs=(need,))
    with pytest.raises(MixedError):
        ask(ruleset(plugin(needy)))


def test_a_rule_of_the_core_that_is_required_and_lacks_its_field_parts_the_column():
    with pytest.raises(MixedError):
        ask(ruleset(*CORE, required=("maximum-draw",)))


def test_a_rule_asked_item_by_item_sees_the_fields_of_each():
    seen = []

    def check(case):
        seen.append((case.archer.string_hand, case.bow.maximum_draw))
        return ()

    ask(ruleset(plugin(rule(check))))
    assert seen == list(zip(HANDS, MOST, strict=True))


def test_rules_that_look_at_no_field_that_differs_are_asked_once():
    sizes, alone = [], []

    def check(case):
        alone.append(case.bow.maximum_draw)
        return [one for one in looks_at_none(case) if one.when]

    def check_many(case):
        sizes.append(case.arrow.length.size)
        return looks_at_none(case)

    chosen = ruleset(*CORE, plugin(rule(check, check_many=check_many)))
    many = ask(chosen)
    assert sizes == [SIZE]
    # Of a few items the check itself is asked too.
    assert alone == [MOST[0], MOST[12], MOST[24]]
    pick, pick_facts = picker(with_both()), picker(MANY_FACTS)
    for at in range(SIZE):
        one = evaluate(pick(at), chosen, facts=pick_facts(at))
        assert many.item(at).findings == one.findings
        assert many.verdicts()[at] == one.verdict
    assert {"stop", "caution"} < set(many.verdicts())
