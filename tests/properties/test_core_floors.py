"""What holds of the core's floors and rules whatever the fitting."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders.model import column_of
from drawmark.fitting import limits
from drawmark.fitting.facts import facts_of
from drawmark.fitting.floors import floors_of, minimum_of
from drawmark.fitting.model import Fitting
from drawmark.fitting.window import clicker_window, nearest_safe_blade, window_of
from drawmark.rules.evaluate import evaluate
from drawmark.rules.evaluate_batch import evaluate_many
from drawmark.rules.model import PRECEDENCE
from rules.fittings import alike, clickers, core_ruleset, members, shapes

CORE = core_ruleset()
FITTINGS = shapes().flatmap(members)
TINY = 1e-12
PRESENT = ("draw", "longest_draw", "allowance", "growth", "back", "rest", "sleeve")
PERHAPS = (
    "variation",
    "usable_length",
    "draw_weight",
    "arrow_mass",
    "front_of_centre",
    "launch_load",
)


def with_archer(fitting: Fitting, **changes) -> Fitting:
    return dataclasses.replace(fitting, archer=dataclasses.replace(fitting.archer, **changes))


def with_arrow(fitting: Fitting, **changes) -> Fitting:
    return dataclasses.replace(fitting, arrow=dataclasses.replace(fitting.arrow, **changes))


def minimum(fitting: Fitting) -> float:
    return minimum_of(facts_of(fitting))


@given(FITTINGS, st.floats(0.0, 0.1))
def test_a_longer_draw_never_lowers_the_minimum(fitting, more):
    longer = with_archer(fitting, draw_length=fitting.archer.draw_length + more)
    assert minimum(longer) >= minimum(fitting) - TINY


@given(FITTINGS, st.floats(0.0, 0.05))
def test_more_growth_never_lowers_the_minimum(fitting, more):
    grown = with_archer(fitting, growth_allowance=(fitting.archer.growth_allowance or 0.0) + more)
    assert minimum(grown) >= minimum(fitting) - TINY


@given(FITTINGS.filter(lambda one: one.archer.draw_count is not None), st.floats(0.0, 0.03))
def test_more_variation_never_lowers_the_minimum(fitting, more):
    wider = with_archer(fitting, draw_variation=fitting.archer.draw_variation + more)
    assert minimum(wider) >= minimum(fitting) - TINY


@given(FITTINGS, st.floats(0.0, 0.02))
def test_a_longer_collar_never_lowers_the_minimum(fitting, more):
    point = fitting.arrow.point
    collared = dataclasses.replace(point, sleeve_length=(point.sleeve_length or 0.0) + more)
    assert minimum(with_arrow(fitting, point=collared)) >= minimum(fitting) - TINY


@given(st.lists(st.floats(0.55, 0.80), min_size=1, max_size=40), FITTINGS)
def test_no_draw_that_was_made_pulls_the_shaft_to_the_hand(draws, fitting):
    shown = with_archer(
        fitting,
        draw_length=None,
        draw_length_convention="to_pivot",
        draws=tuple(draws),
        draw_variation=None,
        draw_count=None,
    )
    facts = facts_of(shown)
    least = minimum_of(facts) - facts.sleeve
    assert least >= max(draws) - TINY
    assert least - max(draws) >= facts.rest + limits.RETENTION_MARGIN - TINY


@given(FITTINGS)
def test_the_hand_is_never_waived(fitting):
    facts = facts_of(fitting)
    floors = {floor.id: floor.length for floor in floors_of(facts)}
    assert floors["hand"] >= facts.draw + facts.allowance - TINY
    assert minimum_of(facts) >= floors["hand"]


@given(FITTINGS)
def test_a_draw_control_never_raises_the_floors(fitting):
    assert minimum(fitting) <= minimum(with_archer(fitting, draw_control="none")) + TINY


@given(FITTINGS)
def test_an_arrow_that_is_drawn_to_its_longest_draw_is_not_stopped(fitting):
    single = with_archer(fitting, draw_length_convention="to_pivot")
    facts = facts_of(single)
    mean = facts.draw + single.arrow.length - minimum_of(facts)
    drawn = facts_of(with_archer(single, draw_length=mean))
    assert minimum_of(drawn) == pytest.approx(single.arrow.length, abs=1e-9)


@given(clickers(), st.floats(0.0, 0.01))
def test_window_of_a_clicker(fitting, step):
    facts = facts_of(fitting)
    exposed, least = fitting.arrow.point.exposed_length, minimum_of(facts)
    low, high = clicker_window(facts, fitting.bow, exposed)
    increment = step if step > 1e-4 else None
    window = window_of(facts, fitting.bow, exposed, least, increment=increment)
    assert window.empty == limits.longer(max(low, least), high)
    if not window.empty:
        assert least - 2e-6 <= window.figure <= window.longest + 2e-6
        assert window.longest <= max(high, window.shortest)
        assert not facts_of(with_arrow(fitting, length=window.figure)).refuted


@given(clickers())
def test_blade_at_its_nearest_safe_place_makes_the_minimum(fitting):
    facts = facts_of(fitting)
    exposed, least = fitting.arrow.point.exposed_length, minimum_of(facts)
    blade = nearest_safe_blade(facts, exposed, least)
    assert facts.draw + blade - exposed == pytest.approx(least, abs=1e-12)


@given(FITTINGS, st.floats(0.0005, 0.02))
def test_saw_never_cuts_below_the_minimum_nor_leaves_the_window(fitting, increment):
    facts = facts_of(fitting)
    least = minimum_of(facts)
    window = window_of(facts, fitting.bow, None, least, increment=increment)
    assert window.figure is not None
    assert window.shortest - 2e-6 <= window.figure <= window.longest + 2e-6
    assert window.figure >= least - 2e-6


@settings(max_examples=50)
@given(alike())
def test_columns_give_the_facts_and_floors_of_single_fittings(fittings):
    many = facts_of(column_of(fittings))
    floors = {floor.id: floor.length for floor in floors_of(many)}
    for at, fitting in enumerate(fittings):
        single = facts_of(fitting)
        for name in (*PRESENT, *PERHAPS):
            one, column = getattr(single, name), getattr(many, name)
            if one is None:
                assert column is None, name
            else:
                assert np.broadcast_to(column, len(fittings))[at] == pytest.approx(one, rel=1e-9)
        for name in ("control", "claimed", "unshown", "refuted", "estimated", "growth_given"):
            assert getattr(many, name) == getattr(single, name)
        assert {floor.id for floor in floors_of(single)} == set(floors)
        for floor in floors_of(single):
            found = np.broadcast_to(floors[floor.id], len(fittings))[at]
            assert found == pytest.approx(floor.length, rel=1e-12)


@settings(max_examples=50)
@given(alike())
def test_columns_give_the_verdicts_of_single_fittings(fittings):
    many = evaluate_many(column_of(fittings), CORE, len(fittings))
    for at, fitting in enumerate(fittings):
        one = evaluate(fitting, CORE)
        item = many.item(at)
        assert item.verdict == one.verdict
        assert item.minimum_usable == pytest.approx(one.minimum_usable, rel=1e-12)
        assert sorted((placed.rule, placed.said.severity) for placed in item.findings) == sorted(
            (placed.rule, placed.said.severity) for placed in one.findings
        )


@given(FITTINGS)
def test_verdict_is_the_worst_that_was_said(fitting):
    outcome = evaluate(fitting, CORE)
    said = [PRECEDENCE[placed.said.severity] for placed in outcome.findings]
    assert PRECEDENCE[outcome.verdict] == max(said, default=0)
    assert outcome.determinate
    assert outcome.minimum_usable == max(floor.said.length for floor in outcome.floors)


@given(FITTINGS)
def test_shorter_than_the_minimum_never_passes(fitting):
    outcome = evaluate(fitting, CORE)
    facts = outcome.facts
    if limits.shorter(facts.usable_length, outcome.minimum_usable):
        assert outcome.verdict in ("indeterminate", "stop")
        assert outcome.verdict == "stop" or facts.unshown
