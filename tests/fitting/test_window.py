"""Windows, the saw and the clicker's blade, as tables in inches."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders.model import CLICKER, POINT, archer, facts
from drawmark.fitting.floors import minimum_of
from drawmark.fitting.model import Arrow, Bow, ClickerRange, Point
from drawmark.fitting.units import INCH
from drawmark.fitting.window import nearest_safe_blade, window_of, windows_of

MM6 = 0.006 / INCH
USUAL = Bow(kind="recurve")
PRACTISED = archer(experience="practised")


def test_usual_window():
    window = window_of(facts(), Bow(kind="recurve"), None, 29 * INCH)
    assert (window.shortest / INCH, window.figure / INCH, window.longest / INCH) == pytest.approx(
        (29, 30, 31)
    )


@pytest.mark.parametrize(
    ("experience", "minimum", "expected"),
    [
        # Common practice, no source: 1 to 2 in past the back of the bow, 2 to 3 in for beginners.
        pytest.param("first_evenings", 29.0, (29.0, 31.0, 31.0), id="the first evenings"),
        pytest.param("learning", 29.0, (29.0, 30.0, 31.0), id="learning"),
        pytest.param(None, 29.0, (29.0, 30.0, 31.0), id="learning is assumed"),
        pytest.param("practised", 29.0, (29.0, 29.5, 30.0), id="practised"),
        pytest.param("first_evenings", 30.5, (30.5, 31.5, 31.5), id="an inch of caution"),
        pytest.param("learning", 30.9, (30.9, 31.4, 31.4), id="half an inch of caution"),
        pytest.param("practised", 29.8, (29.8, 30.3, 30.3), id="the same once practised"),
    ],
)
def test_experience_sets_the_overhang_and_the_caution(experience, minimum, expected):
    window = window_of(facts(archer(experience=experience)), USUAL, None, minimum * INCH)
    assert inches_of(window) == pytest.approx(expected)


def test_clicker_window_replaces_it_and_blade_is_given():
    who = archer(draw_control="clicker")
    found = facts(who, CLICKER, Arrow(point=POINT))
    minimum = minimum_of(found)
    window = window_of(found, CLICKER, POINT.exposed_length, minimum)
    # least blade: 26.25 + 1 - 0.75 = 26.5, below the minimum of 27 in and 6 mm
    assert window.shortest == pytest.approx(minimum)
    assert window.longest / INCH == pytest.approx(28.5)
    # midway between the minimum and half an inch, and the window's end
    assert window.figure / INCH == pytest.approx((27 + MM6 + 0.5 + 28.5) / 2)
    assert window.cut_to == pytest.approx(window.longest)
    blade = nearest_safe_blade(found, POINT.exposed_length, minimum)
    assert blade / INCH == pytest.approx(0.25 + MM6 + 0.5 + 0.75)


def inches_of(window):
    figure = None if window.figure is None else window.figure / INCH
    return window.shortest / INCH, figure, window.longest / INCH


@pytest.mark.parametrize(
    ("who", "minimum", "ceiling", "increment", "expected"),
    [
        pytest.param(PRACTISED, 29.0, None, None, (29.0, 29.5, 30.0), id="usual"),
        pytest.param(
            archer(growth_allowance=0.5 * INCH, experience="practised"),
            29.5,
            None,
            None,
            (29.5, 30, 30.5),
            id="growth",
        ),
        pytest.param(PRACTISED, 29.2, None, None, (29.2, 29.7, 30.0), id="clear of a caution"),
        pytest.param(PRACTISED, 29.8, None, None, (29.8, 30.3, 30.3), id="above the figure"),
        pytest.param(PRACTISED, 31.0, None, None, (31.0, 31.5, 31.5), id="above the window"),
        pytest.param(PRACTISED, 29.8, 30.1, None, (29.8, 30.1, 30.1), id="not past a ceiling"),
        pytest.param(PRACTISED, 29.0, 29.7, None, (29.0, 29.5, 29.7), id="a ceiling above"),
        pytest.param(PRACTISED, 29.0, 29.3, None, (29.0, 29.3, 29.3), id="below the figure"),
        pytest.param(PRACTISED, 29.0, 29.0, None, (29.0, 29.0, 29.0), id="ceiling at the minimum"),
        pytest.param(PRACTISED, 29.0, 28.5, None, (29.0, None, 28.5), id="ceiling below it: empty"),
        pytest.param(PRACTISED, 29.0, None, 0.25, (29.0, 29.5, 30.0), id="on the saw's scale"),
        pytest.param(
            PRACTISED, 29.6, None, 0.25, (29.6, 30.25, 30.25), id="clear of a caution on the scale"
        ),
        pytest.param(PRACTISED, 29.1, None, 0.25, (29.1, 29.75, 30.0), id="rounded up"),
        pytest.param(PRACTISED, 29.0, 29.7, 0.3, (29.0, 29.7, 29.7), id="up to the ceiling"),
        pytest.param(PRACTISED, 29.0, 29.6, 0.4, (29.0, 29.6, 29.6), id="to the last step"),
        pytest.param(PRACTISED, 29.0, 29.55, 0.4, (29.0, 29.2, 29.55), id="down, not out of it"),
        pytest.param(PRACTISED, 29.3, 29.55, 0.4, (29.3, 29.55, 29.55), id="no step within it"),
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
        pytest.param(2.0, 4.0, 27.3, (27.5, 28.65, 29.5), id="all of it safe"),
        pytest.param(1.0, 4.0, 27.3, (27.3, 28.65, 29.5), id="the nearest blade is not"),
        pytest.param(1.0, 2.0, 27.3, (27.3, 27.5, 27.5), id="only the furthest end is"),
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
    assert inches_of(window) == pytest.approx((29.0, 30.0, 31.0))


def test_an_arrow_slightly_too_long_for_the_clicker_is_cut_to_the_windows_end():
    """27.5 in where the clicker's window is 26.687 to 27.45: recommended 27.3, cut to 27.45."""
    bow = Bow(
        kind="recurve",
        rest_position=0.2 * INCH,
        clicker_range=ClickerRange(near=1.6 * INCH, far=2.4 * INCH),
    )
    point = Point(exposed_length=0.7 * INCH)
    who = archer(27.5, draw_control="clicker")
    found = facts(who, bow, Arrow(point=point))
    window = window_of(found, bow, point.exposed_length, minimum_of(found))
    # 25.75 + 0.2 + 6 mm + 0.5 = 26.686; (26.686 + 0.5 + 27.45) / 2 = 27.318
    assert inches_of(window) == pytest.approx((26.686, 27.318, 27.45), abs=5e-4)
    assert window.cut_to == pytest.approx(27.45 * INCH)


@given(
    st.lists(st.tuples(*[st.floats(0.6, 0.9)] * 3), min_size=1, max_size=5),
    st.sampled_from([None, 0.005, 0.25 * INCH]),
    st.booleans(),
    st.booleans(),
)
def test_column_of_windows_is_that_of_each(rows, increment, clicks, capped):
    draws, minimums, ceilings = (np.array(column) for column in zip(*rows, strict=True))
    reach = POINT.exposed_length if clicks else None

    def about(draw):
        control = "clicker" if clicks else "none"
        return facts(archer(draw_length=draw, draw_control=control), CLICKER, Arrow(point=POINT))

    ends = windows_of(
        about(draws), CLICKER, reach, minimums, ceilings if capped else None, increment
    )
    for at, (draw, minimum, ceiling) in enumerate(rows):
        alone = window_of(
            about(draw), CLICKER, reach, minimum, ceiling if capped else None, increment
        )
        shortest, longest, figure, empty = (column[at] for column in ends)
        assert (shortest, longest, bool(empty)) == (alone.shortest, alone.longest, alone.empty)
        assert alone.figure in (None, figure)
