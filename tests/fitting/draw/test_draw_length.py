"""Conventions, the spread of draws and the estimate from an arm span."""

from __future__ import annotations

import statistics

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawmark.fitting.draw.draw_length import spread_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.model import Archer, Bow
from drawmark.fitting.units import INCH

RECURVE = Bow(kind="recurve")
DEEP = Bow(kind="longbow", back_position=2.25 * INCH)


@pytest.mark.parametrize(
    ("convention", "bow", "draw", "to_pivot"),
    [
        pytest.param("to_pivot", RECURVE, 26.25, 26.25, id="to the pivot point"),
        pytest.param("standard", RECURVE, 28.0, 26.25, id="standard"),
        pytest.param("standard", DEEP, 28.0, 26.25, id="standard, whatever the bow"),
        pytest.param("to_back", DEEP, 28.5, 26.25, id="to a deep bow's back"),
        pytest.param(
            "to_back", Bow(kind="recurve", back_position=INCH), 27.25, 26.25, id="a shallow one's"
        ),
    ],
)
def test_convention(convention, bow, draw, to_pivot):
    for given_as in ({"draw_length": draw * INCH}, {"draws": (draw * INCH,) * 3}):
        archer = Archer(draw_length_convention=convention, **given_as)
        assert spread_of(archer, bow).mean / INCH == pytest.approx(to_pivot, abs=1e-12)


@pytest.mark.parametrize(
    ("convention", "back", "slack"),
    [
        pytest.param("standard", None, 0.0, id="standard"),
        pytest.param("to_pivot", None, 0.0, id="to the pivot point"),
        pytest.param("to_back", 0.5 * INCH, 0.0, id="to a back that was measured"),
        pytest.param("to_back", None, 1.75 * INCH, id="to a back that may be at the pivot point"),
    ],
)
def test_a_draw_to_a_back_that_is_not_known_may_be_longer(convention, back, slack):
    for given_as in ({"draw_length": 0.7}, {"draws": (0.7, 0.71)}):
        archer = Archer(draw_length_convention=convention, **given_as)
        assert spread_of(archer, Bow(kind="recurve", back_position=back)).slack == slack


@pytest.mark.parametrize(
    ("archer", "field"),
    [
        pytest.param(Archer(), "draw_length", id="nothing tells the draw"),
        pytest.param(Archer(draw_length=0.7), "draw_length_convention", id="no convention"),
        pytest.param(Archer(draws=(0.7, 0.71)), "draw_length_convention", id="none for draws"),
    ],
)
def test_what_cannot_be_read_is_refused(archer, field):
    with pytest.raises(FittingError) as caught:
        spread_of(archer, RECURVE)
    assert [fault.path[-1] for fault in caught.value.faults] == [field]


DRAWS = (0.650, 0.655, 0.661, 0.648, 0.652, 0.670)


@pytest.mark.parametrize("many", [1, 2, 5, 6])
def test_single_draws(many):
    draws = DRAWS[:many]
    spread = spread_of(Archer(draws=draws, draw_length_convention="to_pivot"), RECURVE)
    assert spread.mean == pytest.approx(statistics.mean(draws), abs=1e-12)
    assert spread.seen == max(draws)
    assert not spread.estimated
    if many == 1:
        assert (spread.count, spread.deviation) == (None, None)
    else:
        assert spread.count == many
        assert spread.deviation == pytest.approx(statistics.stdev(draws), abs=1e-12)


def test_stated_spread():
    archer = Archer(
        draw_length=0.66, draw_length_convention="to_pivot", draw_variation=0.004, draw_count=5
    )
    spread = spread_of(archer, RECURVE)
    assert (spread.mean, spread.deviation, spread.count, spread.seen) == (0.66, 0.004, 5, None)


def test_arm_span_in_place_of_a_draw():
    spread = spread_of(Archer(arm_span=70 * INCH), RECURVE)
    assert spread.mean / INCH == pytest.approx(26.25)
    assert spread.estimated


def test_spread_beside_an_arm_span_is_kept():
    archer = Archer(arm_span=70 * INCH, draw_variation=0.02, draw_count=12)
    spread = spread_of(archer, RECURVE)
    assert (spread.deviation, spread.count, spread.estimated) == (0.02, 12, True)


def test_arm_span_beside_a_draw_changes_nothing():
    archer = Archer(draw_length=0.66, draw_length_convention="to_pivot", arm_span=1.2)
    spread = spread_of(archer, RECURVE)
    assert spread.mean == 0.66
    assert not spread.estimated


@settings(max_examples=50)
@given(
    st.integers(1, 13),
    st.lists(st.lists(st.floats(0.5, 0.8), min_size=13, max_size=13), min_size=1, max_size=4),
)
def test_draws_of_many_archers_are_as_those_of_each(count, archers):
    archers = [tuple(draws[:count]) for draws in archers]
    columns = tuple(np.array(shot) for shot in zip(*archers, strict=True))
    convention = {"draw_length_convention": "standard"}
    many = spread_of(Archer(draws=columns, **convention), RECURVE)
    for place, draws in enumerate(archers):
        one = spread_of(Archer(draws=draws, **convention), RECURVE)
        for name in ("mean", "deviation", "seen"):
            alone, together = getattr(one, name), getattr(many, name)
            assert alone == (None if together is None else together[place]), name
        assert one.count == many.count


def test_draws_that_are_the_same_for_all_may_stand_beside_columns():
    some = Archer(draws=(0.7, np.array([0.7, 0.71])), draw_length_convention="to_pivot")
    assert spread_of(some, RECURVE).seen.tolist() == [0.7, 0.71]
