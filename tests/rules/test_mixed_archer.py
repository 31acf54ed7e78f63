"""Words of the archer may differ within a column, until a plugin's rule looks at one."""

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
from rules.bench import FACTS, FITTING, plugin, rule, ruleset, says

SIZE = 25
LENGTHS = np.linspace(0.60, 0.90, SIZE)
HANDS = np.array([None, "left", "right", "left", None] * 5, dtype=np.object_)
MANY = dataclasses.replace(
    FITTING,
    archer=dataclasses.replace(FITTING.archer, string_hand=HANDS),
    arrow=Arrow(length=LENGTHS),
)
MANY_FACTS = msgspec.structs.replace(FACTS, usable_length=LENGTHS)


def looks_at_hand(case):
    yield rules.caution("left", when=case.archer.string_hand == "left")


def looks_and_hides_it(case):
    with suppress(Exception):
        yield from looks_at_hand(case)


def looks_at_all(case):
    told = dataclasses.asdict(case.archer)
    yield rules.caution("left", when=told["string_hand"] == "left")


def looks_at_none(case):
    yield rules.caution("long", when=case.arrow.length > 0.7)


@pytest.mark.parametrize("check", [looks_at_hand, looks_and_hides_it, looks_at_all])
def test_a_rule_that_looks_at_a_word_that_differs_parts_the_column(check):
    chosen = ruleset(plugin(rule(check, check_many=check)))
    with pytest.raises(MixedError) as mixed:
        evaluate_many(MANY, chosen, SIZE, facts=MANY_FACTS)
    assert mixed.value.condition.tolist() == [hand is None for hand in HANDS]


def test_a_need_of_a_word_that_differs_parts_the_column():
    needy = rule(says(rules.note("n")), check_many=says(), needs=("archer.string_hand",))
    with pytest.raises(MixedError):
        evaluate_many(MANY, ruleset(plugin(needy)), SIZE, facts=MANY_FACTS)


def test_a_rule_asked_item_by_item_sees_the_words_of_each():
    seen = []

    def check(case):
        seen.append(case.archer.string_hand)
        return ()

    evaluate_many(MANY, ruleset(plugin(rule(check))), SIZE, facts=MANY_FACTS)
    assert seen == HANDS.tolist()


def test_rules_that_look_at_no_word_that_differs_are_asked_once():
    sizes = []

    def check_many(case):
        sizes.append(case.arrow.length.size)
        return looks_at_none(case)

    chosen = ruleset(plugin(rule(looks_at_none, check_many=check_many)))
    many = evaluate_many(MANY, chosen, SIZE, facts=MANY_FACTS)
    assert sizes == [SIZE]
    pick = picker(MANY)
    for at in range(SIZE):
        alone = evaluate(pick(at), chosen, facts=picker(MANY_FACTS)(at))
        assert many.item(at) == alone
