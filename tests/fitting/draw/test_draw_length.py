"""Conventions, the spread of draws and the estimate from an arm span."""

from __future__ import annotations

import statistics

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawmark.fitting.draw.draw_length import exceedance_per_thousand, prediction_factor, spread_of
from drawmark.fitting.model import Archer, Bow, FittingError
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
    ("archer", "field"),
    [
        pytest.param(Archer(), "draw_length", id="nothing tells the draw"),
        pytest.param(Archer(draw_length=0.7), "draw_length_convention", id="no convention"),
        pytest.param(Archer(draws=(0.7, 0.71)), "draw_length_convention", id="none for draws"),
        pytest.param(
            Archer(draw_length=0.7, draw_length_convention="to_back"),
            "back_position",
            id="to a back that is not known",
        ),
    ],
)
def test_what_cannot_be_read_is_refused(archer, field):
    with pytest.raises(FittingError) as caught:
        spread_of(archer, RECURVE)
    assert [fault.path[-1] for fault in caught.value.faults] == [field]


DRAWS = (0.650, 0.655, 0.661, 0.648, 0.652, 0.670)


@pytest.mark.parametrize(
    ("draws", "count", "seen"),
    [
        pytest.param(DRAWS[:1], None, None, id="a single one"),
        pytest.param(DRAWS[:2], 2, None, id="two"),
        pytest.param(DRAWS[:5], 5, None, id="five"),
        pytest.param(DRAWS, 6, 0.670, id="six"),
    ],
)
def test_single_draws(draws, count, seen):
    spread = spread_of(Archer(draws=draws, draw_length_convention="to_pivot"), RECURVE)
    assert spread.mean == pytest.approx(statistics.mean(draws), abs=1e-12)
    assert spread.longest == max(draws)
    assert spread.count == count
    assert spread.seen == seen
    assert spread.telling == (len(draws) >= 6)
    assert not spread.estimated
    if count is None:
        assert spread.deviation is None
    else:
        assert spread.deviation == pytest.approx(statistics.stdev(draws), abs=1e-12)


@pytest.mark.parametrize(("count", "telling"), [(2, False), (5, False), (6, True), (100, True)])
def test_stated_spread(count, telling):
    archer = Archer(
        draw_length=0.66, draw_length_convention="to_pivot", draw_variation=0.004, draw_count=count
    )
    spread = spread_of(archer, RECURVE)
    assert (spread.mean, spread.deviation, spread.count) == (0.66, 0.004, count)
    assert spread.telling == telling
    assert spread.seen is None


@given(st.lists(st.floats(0.4, 1.0), min_size=2, max_size=12))
def test_no_draw_is_longer_than_mean_spread_and_count_allow(draws):
    archer = Archer(draws=tuple(draws), draw_length_convention="to_pivot")
    seen = spread_of(archer, RECURVE)
    stated = spread_of(
        Archer(
            draw_length=seen.mean,
            draw_length_convention="to_pivot",
            draw_variation=seen.deviation,
            draw_count=len(draws),
        ),
        RECURVE,
    )
    assert stated.longest >= max(draws) - 1e-12


def test_arm_span_in_place_of_a_draw():
    spread = spread_of(Archer(arm_span=70 * INCH), RECURVE)
    assert spread.mean / INCH == pytest.approx(26.25)
    assert spread.estimated
    assert spread.longest == spread.mean


def test_spread_beside_an_arm_span_is_kept():
    archer = Archer(arm_span=70 * INCH, draw_variation=0.02, draw_count=12)
    spread = spread_of(archer, RECURVE)
    assert (spread.deviation, spread.count, spread.estimated) == (0.02, 12, True)


def test_arm_span_beside_a_draw_changes_nothing():
    archer = Archer(draw_length=0.66, draw_length_convention="to_pivot", arm_span=1.2)
    spread = spread_of(archer, RECURVE)
    assert spread.mean == 0.66
    assert not spread.estimated


def test_column_of_few_and_many_draws_is_refused():
    counts = np.array([4.0, 12.0])
    archer = Archer(
        draw_length=np.array([0.66, 0.66]),
        draw_length_convention="to_pivot",
        draw_variation=np.array([0.01, 0.01]),
        draw_count=counts,
    )
    with pytest.raises(ValueError, match="differ"):
        assert spread_of(archer, RECURVE).telling


def test_factor_of_a_column():
    counts = np.array([12.0, 6.0, 12.0, 30.0])
    assert prediction_factor(counts).tolist() == [prediction_factor(float(n)) for n in counts]


@given(st.integers(2, 500), st.integers(2, 500))
def test_more_draws_never_raise_the_factor(first, second):
    few, many = sorted((first, second))
    assert prediction_factor(float(few)) >= prediction_factor(float(many))


@pytest.mark.parametrize(
    ("limit", "expected"),
    [
        pytest.param(0.60, 1000.0, id="all beyond a limit far below"),
        pytest.param(0.66, 500.0, id="half beyond the mean"),
        pytest.param(0.70, 0.0, id="none beyond one far above"),
    ],
)
def test_expected_number_without_spread(limit, expected):
    assert exceedance_per_thousand(limit, 0.66, 0.0, 12.0) == pytest.approx(expected, abs=1e-6)


def test_expected_number_of_a_column():
    limits = np.array([0.66, 0.67, 0.70])
    column = exceedance_per_thousand(limits, 0.66, 0.01, 12.0)
    single = [exceedance_per_thousand(float(one), 0.66, 0.01, 12.0) for one in limits]
    assert column.tolist() == pytest.approx(single, rel=1e-12)


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
        for name in ("mean", "longest", "deviation", "seen"):
            alone, together = getattr(one, name), getattr(many, name)
            assert alone == (None if together is None else together[place]), name
        assert (one.count, one.telling) == (many.count, many.telling)


def test_draws_that_are_the_same_for_all_may_stand_beside_columns():
    some = Archer(draws=(0.7, np.array([0.7, 0.71])), draw_length_convention="to_pivot")
    assert spread_of(some, RECURVE).longest.tolist() == [0.7, 0.71]
