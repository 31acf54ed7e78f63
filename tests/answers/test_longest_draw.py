"""The longest safe draw allows for the spread that was measured."""

from __future__ import annotations

import dataclasses
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawmark import rules
from drawmark.answers.common.archer_at_draw import trials_of
from drawmark.answers.common.context import Context
from drawmark.answers.common.longest_draw_of_check import longest_draw_of_check
from drawmark.answers.common.longest_draw_search import (
    find_furthest,
    find_longest_draw,
    is_long_enough,
)
from drawmark.fitting import limits
from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.fields import quantity_of
from drawmark.fitting.floors import minimum_of
from drawmark.fitting.model import Archer, Arrow, Bow, ClickerRange, Fitting, Point
from drawmark.fitting.units import INCH
from drawmark.rules import registry
from drawmark.rules.evaluate import evaluate
from drawmark.rules.random_cases import random_fitting
from rules.bench import plugin, rule, ruleset
from rules.fittings import core_ruleset

BOW = Bow(
    kind="recurve",
    rest_position=0.25 * INCH,
    clicker_range=ClickerRange(near=1 * INCH, far=6 * INCH),
)
ARROW = Arrow(point=Point(exposed_length=0.75 * INCH))


@pytest.fixture(scope="module")
def context():
    return Context(ruleset=core_ruleset())


def draws(*inches):
    return tuple(one * INCH for one in inches)


@pytest.mark.parametrize("control", ["none", "settled", "clicker"])
@pytest.mark.parametrize(
    "shown",
    [
        pytest.param({"draw_length": 26.25 * INCH}, id="one draw"),
        pytest.param(
            {"draw_length": 26.25 * INCH, "draw_variation": 0.5 * INCH, "draw_count": 12},
            id="stated spread",
        ),
        pytest.param(
            {"draw_length": 26.25 * INCH, "draw_variation": 0.5 * INCH, "draw_count": 4},
            id="stated spread of few",
        ),
        pytest.param({"draws": draws(26, 26.5, 27.5)}, id="few draws"),
        pytest.param({"draws": draws(*(26, 26.5) * 6, 28.5)}, id="many draws"),
    ],
)
def test_draw_of_an_arrow_of_the_minimum_length_is_the_longest(control, shown, context):
    archer = Archer(draw_length_convention="to_pivot", draw_control=control, **shown)
    facts = facts_of(Fitting(archer=archer, bow=BOW, arrow=ARROW))
    arrow = dataclasses.replace(ARROW, length=float(minimum_of(facts)))
    assert not facts_of(Fitting(archer=archer, bow=BOW, arrow=arrow)).refuted
    longest = find_furthest(trials_of(archer, BOW, arrow, context))
    assert longest.draw == pytest.approx(facts.draw, abs=2e-6)


CORE = registry.load().find("core")
FLOORS = frozenset({"floor"})


@st.composite
def fittings(draw):
    rng = random.Random(draw(st.integers(0, 2**32)))
    while True:
        fitting = random_fitting(rng)
        if fitting.arrow.length is not None:
            try:
                facts_of(fitting)
            except FittingError:
                continue
            return fitting


def floor_rule(slope, constant, name, jump=0.0, at=1.0):
    def check(case):
        beyond = jump if case.facts.draw > at else 0.0
        yield rules.floor(slope * case.facts.draw + constant + beyond, "a hall's own")
        if case.facts.draw_weight is not None:
            yield rules.floor(case.facts.draw_weight * 0.002, "stronger bow, longer arrow")

    return plugin(rule(check, gives=FLOORS), name=name)


floor_rules = st.builds(
    floor_rule,
    st.floats(0.0, 3.0),
    st.floats(0.0, 0.9),
    st.just("hall"),
    st.floats(0.0, 0.3),
    st.floats(0.4, 1.0),
)


@settings(max_examples=120)
@given(fittings(), st.one_of(st.none(), floor_rules))
def test_beside_a_check_it_is_what_a_search_of_its_own_finds(fitting, local):
    applied = ruleset(CORE, *([] if local is None else [local]))
    context = Context(ruleset=applied)
    archer, bow, arrow = fitting.archer, fitting.bow, fitting.arrow
    outcome = evaluate(fitting, applied)
    found, determinate, _ = longest_draw_of_check(outcome, archer, bow, arrow, context)
    least = outcome.minimum_usable + outcome.facts.sleeve
    at_clicker = outcome.facts.control == "clicker" and arrow.length >= least
    searched = (find_furthest if at_clicker else find_longest_draw)(
        trials_of(archer, bow, arrow, context)
    )
    assert determinate is searched.determinate
    if found is None or searched.draw is None:
        # No archer draws less than a request may state.
        least = quantity_of(Archer, "draw_length").low
        assert max(found or 0.0, searched.draw or 0.0) <= least + 2e-6
    else:
        # Each may lie twice the tolerance below the edge, or the tolerance beyond it.
        assert found == pytest.approx(searched.draw, abs=3 * limits.TOLERANCE)


@pytest.mark.parametrize(
    ("slope", "constant", "jump", "at", "longest"),
    [
        # One for one, slower and faster than the draw: where the floor is 30 in.
        pytest.param(1.0, 4.0, 0.0, 0.0, 26.0, id="one-for-one"),
        pytest.param(0.5, 17.0, 0.0, 0.0, 26.0, id="slow"),
        pytest.param(2.0, -22.0, 0.0, 0.0, 26.0, id="fast"),
        # From one draw on 5 in more: the last draw without them.
        pytest.param(0.0, 27.0, 5.0, 25.5, 25.5, id="jump"),
        pytest.param(1.0, 3.0, 5.0, 24.0, 24.0, id="one-for-one with a jump"),
        # The core's inch past the back is met first.
        pytest.param(0.0, 29.0, 0.0, 0.0, 30 - 2.75, id="never in force"),
    ],
)
@pytest.mark.parametrize("drawn", [22.0, 26.0, 29.0])
def test_a_halls_floor_of_any_shape_is_met_where_it_is(slope, constant, jump, at, longest, drawn):
    hall = floor_rule(slope, constant * INCH, "hall", jump * INCH, at * INCH)
    applied = ruleset(CORE, hall)
    context = Context(ruleset=applied)
    archer = Archer(draw_length=drawn * INCH, draw_length_convention="to_pivot")
    bow, arrow = Bow(kind="recurve"), Arrow(length=30 * INCH)
    outcome = evaluate(Fitting(archer=archer, bow=bow, arrow=arrow), applied)
    beside, determinate, _ = longest_draw_of_check(outcome, archer, bow, arrow, context)
    assert determinate
    assert beside == pytest.approx(longest * INCH, abs=2e-6)
    assert find_longest_draw(trials_of(archer, bow, arrow, context)).draw == pytest.approx(
        beside, abs=2e-6
    )


@pytest.mark.parametrize(
    ("fails_from", "longest", "sure"),
    [
        # 31 in less 1 3/4 in and 1 in, were it not for the rule.
        pytest.param(29.0, 28.25, True, id="beyond the longest"),
        pytest.param(27.0, 27.0, True, id="below it"),
        pytest.param(0.0, 28.25, False, id="always"),
    ],
)
def test_a_rule_that_fails_leaves_the_draws_in_doubt_at_which_it_fails(fails_from, longest, sure):
    archer = Archer(draw_length=26.25 * INCH, draw_length_convention="to_pivot")
    arrow = dataclasses.replace(ARROW, length=31 * INCH)

    def check(case):
        if case.facts.draw > fails_from * INCH:
            raise ValueError("never thought of that")
        return []

    applied = ruleset(CORE, plugin(rule(check, gives=FLOORS)))
    fitting = Fitting(archer=archer, bow=Bow(kind="recurve"), arrow=arrow)
    outcome = evaluate(fitting, applied)
    assert outcome.determinate is (fails_from > 0)
    found, determinate, _ = longest_draw_of_check(
        outcome, archer, fitting.bow, arrow, Context(ruleset=applied)
    )
    assert found == pytest.approx(longest * INCH, abs=2e-6)
    assert determinate is sure


# The blade stands from the pivot point to 2 in ahead of it, and the point shows 1 in.
NEAR_BLADE = Bow(
    kind="recurve",
    rest_position=-1 * INCH,
    clicker_range=ClickerRange(near=0.0, far=2 * INCH),
)
CUT_SHORT = Arrow(length=28 * INCH, point=Point(exposed_length=1 * INCH))


def clicker_at(inches):
    return Archer(
        draw_length=inches * INCH, draw_length_convention="to_pivot", draw_control="clicker"
    )


@pytest.mark.parametrize(
    ("own", "safe", "expected"),
    [
        # 28 in less 1 3/4 in and 1 in; the tip reaches the blade only from 27 in on.
        pytest.param(24.5, True, 25.25, id="short of the blade"),
        pytest.param(26.0, False, 25.25, id="too long without the clicker, and short of it"),
        # 28 in less 6 mm: the shaft's end must not come behind the pivot point.
        pytest.param(27.5, True, 28 - 6 / 25.4, id="at the blade"),
    ],
)
def test_draws_between_what_is_safe_and_the_clicker(own, safe, expected, context):
    archer = clicker_at(own)
    fitting = Fitting(archer=archer, bow=NEAR_BLADE, arrow=CUT_SHORT)
    outcome = evaluate(fitting, context.ruleset)
    assert is_long_enough(trials_of(archer, NEAR_BLADE, CUT_SHORT, context), own * INCH) is safe
    found, determinate, _ = longest_draw_of_check(outcome, archer, NEAR_BLADE, CUT_SHORT, context)
    assert determinate
    assert found / INCH == pytest.approx(expected, abs=1e-3)


def test_every_draw_up_to_the_longest_is_safe(context):
    archer = clicker_at(26)
    trials = trials_of(archer, NEAR_BLADE, CUT_SHORT, context)
    longest = find_longest_draw(trials).draw
    assert longest / INCH == pytest.approx(25.25, abs=1e-3)
    for inches in (20, 22, 24, 25, 25.249):
        assert is_long_enough(trials, inches * INCH)
