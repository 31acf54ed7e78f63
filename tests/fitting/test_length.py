"""Floors, windows and the inverse, as tables in inches."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawmark.fitting.draw import prediction_factor
from drawmark.fitting.facts import facts_of
from drawmark.fitting.length import (
    floors_of,
    longest_draw_of,
    minimum_of,
    nearest_safe_blade,
    round_up,
    window_of,
)
from drawmark.fitting.model import Archer, Arrow, Bow, ClickerRange, Fitting, FittingError, Point
from drawmark.fitting.sources import SOURCES
from drawmark.fitting.units import INCH

SPREAD = {"draw_variation": 0.2 * INCH, "draw_count": 12}
K12 = prediction_factor(12.0) * 0.2  # inches
CLICKER = Bow(
    kind="recurve",
    rest_position=0.25 * INCH,
    clicker_range=ClickerRange(near=1 * INCH, far=3 * INCH),
)
POINT = Point(exposed_length=0.75 * INCH)
MM6, MM10 = 0.006 / INCH, 0.010 / INCH


def archer(**more):
    return Archer(**{"draw_length": 28 * INCH, "draw_length_convention": "standard", **more})


def facts(who=None, bow=None, arrow=None):
    return facts_of(Fitting(archer=who or archer(), bow=bow or Bow(kind="recurve"), arrow=arrow))


@pytest.mark.parametrize(
    ("who", "bow", "arrow", "floors"),
    [
        pytest.param(
            archer(),
            None,
            None,
            {"bow-back": 29.0, "rest-retention": 28.5, "hand": 26.25},
            id="none, one draw",
        ),
        pytest.param(
            archer(growth_allowance=1 * INCH),
            None,
            None,
            {"bow-back": 30.0, "rest-retention": 29.5, "hand": 27.25},
            id="none, growth",
        ),
        pytest.param(
            archer(**SPREAD),
            None,
            None,
            {"bow-back": 29.0, "rest-retention": 28.5 + K12, "hand": 26.25 + K12},
            id="none, spread within an inch",
        ),
        pytest.param(
            archer(draw_variation=0.5 * INCH, draw_count=12),
            None,
            None,
            {
                "bow-back": 28 + 2.5 * K12,
                "rest-retention": 28.5 + 2.5 * K12,
                "hand": 26.25 + 2.5 * K12,
            },
            id="none, spread beyond an inch",
        ),
        pytest.param(
            archer(draw_control="settled", draw_variation=0.001 * INCH, draw_count=12),
            None,
            None,
            {"rest-retention": 28.5 + MM10, "hand": 26.25 + MM10},
            id="settled, least variation",
        ),
        pytest.param(
            archer(draw_control="clicker", growth_allowance=1 * INCH),
            CLICKER,
            Arrow(point=POINT),
            {"rest-retention": 26.25 + 0.75 + MM6, "hand": 26.25 + MM6},
            id="clicker, without growth",
        ),
        pytest.param(
            archer(draw_control="draw_stop"),
            Bow(kind="compound"),
            None,
            {"rest-retention": 28.5 + MM6, "hand": 26.25 + MM6},
            id="draw stop",
        ),
        pytest.param(
            archer(draw_control="draw_stop"),
            None,
            None,
            {"bow-back": 29.0, "rest-retention": 28.5, "hand": 26.25},
            id="draw stop on a recurve counts as none",
        ),
        pytest.param(
            archer(draw_control="clicker"),
            None,
            None,
            {"bow-back": 29.0, "rest-retention": 28.5, "hand": 26.25},
            id="clicker without its fields counts as none",
        ),
        pytest.param(
            Archer(arm_span=70 * INCH),
            None,
            None,
            {"bow-back": 33.0, "rest-retention": 32.5, "hand": 30.25},
            id="arm span, 4 in more",
        ),
        pytest.param(
            archer(draw_length_convention="to_pivot", draw_length=26.25 * INCH),
            None,
            None,
            {"bow-back": 29.0, "rest-retention": 28.5, "hand": 26.25},
            id="to the pivot point",
        ),
        pytest.param(
            archer(draw_length_convention="to_back", draw_length=28.5 * INCH),
            Bow(kind="longbow", back_position=2.25 * INCH),
            None,
            {"bow-back": 29.5, "rest-retention": 29.0, "hand": 26.25},
            id="to a deep grip's back",
        ),
    ],
)
def test_floors(who, bow, arrow, floors):
    found = {floor.id: floor.length / INCH for floor in floors_of(facts(who, bow, arrow))}
    assert found == pytest.approx(floors, abs=1e-9)


def test_longest_of_a_few_draws_stands():
    draws = tuple(inches * INCH for inches in (27.5, 28.0, 28.75))
    found = facts(Archer(draws=draws, draw_length_convention="standard"))
    assert found.draw / INCH == pytest.approx(27.0)
    assert minimum_of(found) / INCH == pytest.approx(29.75)


def test_sleeve_is_added_to_the_arrow():
    arrow = Arrow(length=30 * INCH, point=Point(sleeve_length=0.5 * INCH))
    assert minimum_of(facts(arrow=arrow)) / INCH == pytest.approx(29.5)


@pytest.mark.parametrize(
    ("who", "fields"),
    [
        (Archer(draw_length=0.7), ("draw_length_convention",)),
        (Archer(draw_length=0.7, draw_length_convention="to_back"), ("back_position",)),
        (Archer(), ("draw_length",)),
        (archer(draw_count=12), ("draw_variation",)),
    ],
)
def test_fault_names_the_field(who, fields):
    with pytest.raises(FittingError) as caught:
        facts(who)
    assert tuple(fault.path[-1] for fault in caught.value.faults) == fields


def test_usual_window():
    window = window_of(facts(), Bow(kind="recurve"), None, 29 * INCH)
    assert (window.shortest / INCH, window.figure / INCH, window.longest / INCH) == pytest.approx(
        (29, 29.5, 30)
    )


def test_clicker_window_replaces_it_and_blade_is_given():
    who = archer(draw_control="clicker")
    found = facts(who, CLICKER, Arrow(point=POINT))
    minimum = minimum_of(found)
    window = window_of(found, CLICKER, POINT.exposed_length, minimum)
    # least blade: 26.25 + 1 - 0.75 = 26.5, below the minimum of 27 in and 6 mm
    assert window.shortest == pytest.approx(minimum)
    assert window.longest / INCH == pytest.approx(28.5)
    assert window.figure / INCH == pytest.approx(27.5)
    blade = nearest_safe_blade(found, POINT.exposed_length, minimum)
    assert blade / INCH == pytest.approx(0.25 + MM6 + 0.5 + 0.75)


USUAL = Bow(kind="recurve")


def inches_of(window):
    figure = None if window.figure is None else window.figure / INCH
    return window.shortest / INCH, figure, window.longest / INCH


@pytest.mark.parametrize(
    ("who", "minimum", "ceiling", "increment", "expected"),
    [
        pytest.param(archer(), 29.0, None, None, (29.0, 29.5, 30.0), id="usual"),
        pytest.param(
            archer(growth_allowance=0.5 * INCH), 29.5, None, None, (29.5, 30, 30.5), id="growth"
        ),
        pytest.param(archer(), 29.2, None, None, (29.2, 29.5, 30.0), id="a minimum within it"),
        pytest.param(archer(), 29.8, None, None, (29.8, 29.8, 30.0), id="above the figure"),
        pytest.param(archer(), 31.0, None, None, (31.0, 31.0, 31.0), id="above the window"),
        pytest.param(archer(), 29.0, 29.7, None, (29.0, 29.5, 29.7), id="a ceiling above"),
        pytest.param(archer(), 29.0, 29.3, None, (29.0, 29.3, 29.3), id="below the figure"),
        pytest.param(archer(), 29.0, 29.0, None, (29.0, 29.0, 29.0), id="ceiling at the minimum"),
        pytest.param(archer(), 29.0, 28.5, None, (29.0, None, 28.5), id="ceiling below it: empty"),
        pytest.param(archer(), 29.0, None, 0.25, (29.0, 29.5, 30.0), id="on the saw's scale"),
        pytest.param(archer(), 29.6, None, 0.25, (29.6, 29.75, 30.0), id="rounded up"),
        pytest.param(archer(), 29.0, 29.7, 0.3, (29.0, 29.7, 29.7), id="up to the ceiling"),
        pytest.param(archer(), 29.0, 29.6, 0.4, (29.0, 29.6, 29.6), id="to the last step"),
        pytest.param(archer(), 29.0, 29.55, 0.4, (29.0, 29.2, 29.55), id="down, not out of it"),
        pytest.param(archer(), 29.3, 29.55, 0.4, (29.3, 29.5, 29.55), id="no step within it"),
    ],
)
def test_window(who, minimum, ceiling, increment, expected):
    window = window_of(
        facts(who),
        USUAL,
        None,
        minimum * INCH,
        ceiling=None if ceiling is None else ceiling * INCH,
        increment=None if increment is None else increment * INCH,
    )
    assert inches_of(window) == pytest.approx(expected)
    assert window.empty == (expected[1] is None)


@pytest.mark.parametrize(
    ("near", "far", "minimum", "expected"),
    [
        # draw 26.25 to the pivot, 0.75 exposed: arrow length is 25.5 and the blade's place
        pytest.param(2.0, 4.0, 27.3, (27.5, 28.5, 29.5), id="all of it safe"),
        pytest.param(1.0, 4.0, 27.3, (27.3, 28.0, 29.5), id="the nearest blade is not"),
        pytest.param(1.0, 2.0, 27.3, (27.3, 27.3, 27.5), id="only the furthest end is"),
        pytest.param(1.0, 1.8, 27.3, (27.3, 27.3, 27.3), id="only the end itself"),
        pytest.param(1.0, 1.7, 27.3, (27.3, None, 27.2), id="none of it: empty"),
    ],
)
def test_window_of_a_clicker(near, far, minimum, expected):
    bow = dataclasses.replace(CLICKER, clicker_range=ClickerRange(near=near * INCH, far=far * INCH))
    found = facts(archer(draw_control="clicker"), bow, Arrow(point=POINT))
    assert found.control == "clicker"
    window = window_of(found, bow, POINT.exposed_length, minimum * INCH)
    assert inches_of(window) == pytest.approx(expected)
    assert window.empty == (expected[1] is None)


def test_clicker_that_does_not_count_leaves_the_usual_window():
    bow = dataclasses.replace(CLICKER, rest_position=None)
    found = facts(archer(draw_control="clicker"), bow, Arrow(point=POINT))
    window = window_of(found, bow, POINT.exposed_length, 29 * INCH)
    assert inches_of(window) == pytest.approx((29.0, 29.5, 30.0))


@pytest.mark.parametrize(
    ("length", "increment", "rounded"),
    [
        pytest.param(29.0, None, 29.0, id="no saw"),
        pytest.param(29.0, 0.25, 29.0, id="on the scale"),
        pytest.param(29.01, 0.25, 29.25, id="just above a step"),
        pytest.param(29.25, 0.25, 29.25, id="on the next"),
        pytest.param(28.9, 0.7, 29.4, id="an odd step"),
    ],
)
def test_saw(length, increment, rounded):
    step = None if increment is None else increment * INCH
    assert round_up(length * INCH, step) / INCH == pytest.approx(rounded)


def test_saw_takes_what_is_within_the_tolerance_of_a_step():
    assert round_up(0.725 + 0.9e-6, 0.001) == 0.725 + 0.9e-6
    assert round_up(0.725 + 1.1e-6, 0.001) == pytest.approx(0.726)


@pytest.mark.parametrize(
    ("who", "longest"),
    [
        pytest.param(archer(), 27.25, id="none"),
        pytest.param(archer(growth_allowance=INCH), 26.25, id="growth"),
        pytest.param(Archer(arm_span=70 * INCH), 23.25, id="an estimate needs 4 in more"),
    ],
)
def test_longest_draw(who, longest):
    found = longest_draw_of(facts(who), Arrow(length=30 * INCH))
    assert found / INCH == pytest.approx(longest)


@pytest.mark.parametrize(
    "who",
    [
        pytest.param(archer(), id="none"),
        pytest.param(archer(**SPREAD, growth_allowance=INCH), id="spread and growth"),
        pytest.param(Archer(arm_span=70 * INCH), id="arm span"),
    ],
)
def test_every_term_of_a_floor_has_a_source(who):
    known = {*SOURCES, "request"}
    for floor in floors_of(facts(who)):
        assert {term.source for term in floor.terms} <= known
        assert floor.length == pytest.approx(sum(term.value for term in floor.terms))


DRAW = st.floats(0.4, 1.0)
SMALL = st.floats(0.0, 0.05)


@given(DRAW, DRAW, SMALL, SMALL)
def test_longer_draw_and_more_growth_never_lower_the_minimum(first, second, grown, more):
    def minimum(draw, growth):
        return minimum_of(facts(archer(draw_length=draw, growth_allowance=growth)))

    low, high = sorted((first, second))
    assert minimum(low, grown) <= minimum(high, grown)
    assert minimum(low, grown) <= minimum(low, grown + more)


@given(SMALL, SMALL, st.sampled_from(["none", "settled"]), st.integers(12, 100))
def test_more_variation_never_lowers_the_minimum(first, second, control, count):
    low, high = (
        minimum_of(facts(archer(draw_control=control, draw_variation=spread, draw_count=count)))
        for spread in sorted((first, second))
    )
    assert low <= high


@given(DRAW, SMALL)
def test_longest_draw_of_an_arrow_of_the_minimum_length_is_the_draw(draw, growth):
    who = archer(draw_length=draw, growth_allowance=growth)
    found = facts(who)
    arrow = Arrow(length=minimum_of(found))
    assert longest_draw_of(found, arrow) == pytest.approx(found.draw, abs=1e-12)


def test_column_gives_what_single_figures_give():
    draws = np.array([0.65, 0.7, 0.75])
    column = minimum_of(facts(archer(draw_length=draws, growth_allowance=0.0 * draws)))
    singles = [
        minimum_of(facts(archer(draw_length=float(one), growth_allowance=0.0))) for one in draws
    ]
    assert column.tolist() == singles


def test_facts_are_frozen():
    with pytest.raises(dataclasses.FrozenInstanceError):
        facts().draw = 0.0
