"""Each check of a plugin finds its fault, and names the rule and the smallest case."""

import random
from dataclasses import dataclass

import numpy as np
import pytest

from drawmark import rules
from drawmark.fitting.columns import both
from drawmark.rules.conformance import CHECKS, Conformance
from drawmark.rules.registry import Plugin
from drawmark.rules.simplest_trial import simplest
from drawmark.rules.trial import random_trial
from rules.bench import plugin, rule, says


@dataclass(frozen=True)
class Lane:
    number: int = rules.whole(1, 90, "Number of the lane.", default=3)
    label: str = rules.text(12, "Label of the lane.", default="")


@dataclass(frozen=True)
class Undocumented:
    number: int = rules.whole(1, 9, "number of the lane", default=3)


def falls(case):
    yield rules.floor(rules.inches(60) - case.facts.draw, "falls")


def ends(case):
    yield rules.stop("Too short a draw.", when=rules.shorter(case.facts.draw, 0.7))


def divides(case):
    label = case.inputs.label if case.inputs else ""
    yield rules.note("Fine.", when=bool(label[:1]) and label.isalnum())
    if label.startswith("x" * 12):
        raise ValueError("long")


def truth_of_a_mask(case):
    if case.facts.draw > 0.7:
        yield rules.note("Long.")


SHARED = np.zeros(3)


def first_of_two(case):
    SHARED[:] = case.facts.draw
    return [rules.floor(SHARED, "shared")]


def second_of_two(case):
    SHARED[:] = 0.3
    return [rules.floor(SHARED, "shared")]


def stateful_first(case):
    STATE.append(1)
    return []


STATE = []


def sets_what_it_sees(case):
    object.__setattr__(case.arrow, "length", 1.0)
    return []


def doubts_some_draws(case):
    yield rules.stop("Not at these.", when=both(case.facts.draw > 0.6, case.facts.draw < 0.63))


def stateful_second(case):
    said = [rules.note("Others speak.", when=bool(STATE))]
    STATE.clear()
    return said


def lane_in_columns(case):
    yield rules.note("Even lane.", when=case.inputs.number % 2 == 0)


def lane_in_columns_wrongly(case):
    yield rules.note("Even lane.", when=case.inputs.number % 2 == 1)


FAULTS = {
    "declarations": (
        Plugin(name="local", version="1", rules=(rule(says(), gives=frozenset({"advice"})),)),
        "rule r: gives is not a frozenset of ceiling, finding, floor",
    ),
    "documentation": (
        plugin(rule(says(), inputs=Undocumented)),
        "the meaning of inputs.number, 'number of the lane', needs a capital",
    ),
    "answers": (plugin(says(rules.floor(float("nan"), "f"))), "is not finite"),
    "hostile inputs": (
        plugin(rule(divides, inputs=Lane)),
        "rule r: raised ValueError: long\n  smallest case: archer.draw_length 700 mm, "
        "archer.draw_length_convention 'standard', bow.kind 'recurve', "
        "local.local.label 'xxxxxxxxxxxx'",
    ),
    "order of draws": (plugin(falls), "its floor falls with a draw 5 mm longer: from"),
    "order of draws, a stop": (plugin(ends), "it stops the arrow, and not with a draw"),
    "order of draws, of several": (
        plugin(doubts_some_draws),
        "archer.draw_length ",
    ),
    "purity": (plugin(sets_what_it_sees), "rule r: changed its case"),
    "columns": (
        plugin(rule(truth_of_a_mask, check_many=truth_of_a_mask)),
        "its check_many raised ValueError: The truth value of an array",
    ),
    "columns, with whole numbers": (
        plugin(
            rule(
                lane_in_columns,
                check_many=lane_in_columns_wrongly,
                inputs=Lane,
                needs=("local",),
            )
        ),
        "its check_many says",
    ),
    "rules together, in columns": (
        plugin(
            rule(says(), "first", check_many=first_of_two),
            rule(says(), "second", check_many=second_of_two),
        ),
        "rule first: an array that it returned changes when rule second speaks",
    ),
    "rules together": (
        plugin(rule(stateful_first, "first"), rule(stateful_second, "second")),
        "rule second: says something else beside the plugin's other rules",
    ),
}


@pytest.mark.parametrize(("made", "words"), FAULTS.values(), ids=FAULTS)
def test_a_fault_is_found_and_told(request, made, words):
    check = request.node.callspec.id.partition(",")[0]
    conformance = Conformance(made, trials=40)
    # What an earlier check did to a trial is not what this one finds.
    conformance.failures("answers")
    failures = conformance.failures(check)
    told = "\n".join(map(str, failures))
    assert words in told
    assert told.startswith(f"{check}: ")
    assert max(map(len, told.splitlines())) < 500


def test_no_check_finds_fault_with_a_good_rule():
    good = plugin(rule(lane_in_columns, check_many=lane_in_columns, inputs=Lane, needs=("local",)))
    conformance = Conformance(good, trials=40)
    assert {check: conformance.failures(check) for check in CHECKS} == dict.fromkeys(CHECKS, ())


def test_every_check_has_a_fault_in_the_tables():
    here = {name.partition(",")[0] for name in FAULTS}
    # A rule cannot be less strict by what it says; the others stand in test_testing.
    assert set(CHECKS) - here == {"speed", "stricter only"}


@pytest.mark.parametrize(
    ("fails", "words"),
    [
        (lambda one: True, ""),
        (
            lambda one: one.fitting.archer.draw_count is not None,
            "archer.draw_count ",
        ),
    ],
)
def test_the_smallest_case_leaves_out_what_does_not_matter(fails, words):
    rng = random.Random(3)
    trials = (random_trial(plugin(says()), None, rng) for _ in range(50))
    small = simplest(next(filter(fails, trials)), fails)
    told = str(small).split(", ")
    assert words in str(small)
    assert len(told) <= 3 + 2 * bool(words)
    assert small.fitting.arrow is None
