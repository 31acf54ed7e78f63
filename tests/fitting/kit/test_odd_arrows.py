"""Odd arrows, with the median absolute deviation of scipy.stats as the reference."""

import math
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation

from drawmark.fitting import limits
from drawmark.fitting.kit.odd_arrows import FIGURES, check_consistency
from drawmark.fitting.units import GRAIN, INCH

NAN = math.nan


def check(**columns):
    size = len(next(iter(columns.values())))
    return check_consistency(
        **{name: np.array(columns.get(name, [NAN] * size), dtype=float) for name in FIGURES}
    )


def describe(consistency):
    return [(one.index, one.figure) for one in consistency.odd]


@given(
    st.lists(st.one_of(st.just(NAN), st.floats(0.5, 1.0)), min_size=3, max_size=15).filter(
        lambda lengths: sum(not math.isnan(length) for length in lengths) >= 3
    )
)
def test_limit_agrees_with_scipy(lengths):
    found = check(length=lengths)
    reference = limits.ODD_DEVIATIONS * median_abs_deviation(
        lengths, scale="normal", nan_policy="omit"
    )
    # scipy divides by the normal quantile itself, of which 1.4826 keeps five digits.
    limit = min(max(reference, limits.LEAST_ODD_LENGTH), limits.MOST_LIKE_LENGTH)
    middle = np.nanmedian(lengths)
    for one in found.odd:
        assert one.limit == pytest.approx(limit, rel=2e-5)
        assert one.typical == pytest.approx(middle)
        assert abs(one.value - middle) > limit * (1 - 2e-5)
    for index, length in enumerate(lengths):
        if abs(length - middle) > limit * (1 + 2e-5) + limits.TOLERANCE:
            assert (index, "length") in describe(found)


@pytest.mark.parametrize(
    ("columns", "odd"),
    [
        pytest.param({"length": [0.71, 0.71, 0.71, 0.69]}, [(3, "length")], id="short"),
        pytest.param({"length": [0.71, 0.71, 0.71, 0.7101]}, [], id="saw marks do not matter"),
        pytest.param({"length": [0.71, 0.71, 0.711]}, [], id="exactly at the limit"),
        pytest.param({"length": [0.705, 0.708, 0.711, 0.714]}, [], id="a spread-out set"),
        pytest.param(
            {"length": [28 * INCH, 28.5 * INCH, 29 * INCH, 29.5 * INCH, 30 * INCH]},
            [(index, "length") for index in (0, 1, 3, 4)],
            id="28 to 30 in is no set",
        ),
        pytest.param(
            {"mass": [mass * GRAIN for mass in (320, 335, 350, 365, 380)]},
            [(index, "mass") for index in (0, 1, 3, 4)],
            id="masses of no set",
        ),
        pytest.param(
            {"static_spine": [4.2, 4.6, 5.0, 5.4, 5.8]},
            [(0, "static_spine"), (4, "static_spine")],
            id="stiffness of no set",
        ),
        pytest.param(
            {"balance_point": [0.43, 0.44, 0.45, 0.46, 0.47]},
            [(0, "balance_point"), (4, "balance_point")],
            id="balance of no set",
        ),
        pytest.param({"mass": [0.02, 0.02, 0.02, 0.02 + 4 * GRAIN]}, [(3, "mass")], id="heavy"),
        pytest.param({"mass": [0.02, 0.02, 0.02, 0.02 + 3 * GRAIN]}, [], id="three grains"),
        pytest.param({"balance_point": [0.45, 0.45, 0.46]}, [(2, "balance_point")], id="balance"),
        pytest.param({"static_spine": [5.0, 5.0, 5.0, 4.7]}, [(3, "static_spine")], id="weak"),
        pytest.param({"static_spine": [5.0, 5.0, 5.0, 4.8]}, [], id="nearly as stiff"),
        pytest.param({"length": [0.71, NAN, 0.71, 0.69]}, [(3, "length")], id="one not measured"),
        pytest.param(
            {"length": [0.6, *[0.71] * 4], "mass": [0.03, 0.02, 0.02, 0.01, 0.02]},
            [(0, "length"), (0, "mass"), (3, "mass")],
            id="arrow by arrow",
        ),
    ],
)
def test_odd_arrows(columns, odd):
    assert describe(check(**columns)) == odd


def test_many_odd_ones_do_not_hide_each_other():
    found = check(length=[0.71] * 7 + [0.60, 0.61, 0.80, 0.81, 0.9])
    assert describe(found) == [(index, "length") for index in range(7, 12)]


def test_what_could_not_be_checked_is_said():
    found = check(length=[0.71, NAN, 0.69], mass=[0.02, 0.02, 0.02])
    assert found.odd == ()
    assert found.not_checked == ("length", "balance_point", "static_spine")
    assert found.unmeasured == ((1, "length"),)


@pytest.mark.parametrize(
    ("lengths", "shortest"),
    [([0.71, 0.69, NAN], 1), ([0.7], 0), ([0.7, 0.7], 0), ([NAN, NAN], None), ([], None)],
    ids=["odd ones count", "one arrow", "the first of several", "none measured", "no arrows"],
)
def test_shortest_arrow(lengths, shortest):
    assert check(length=lengths).shortest == shortest


# 1/16 in and 5 grains within a set: common practice, no source.
@pytest.mark.parametrize(
    ("columns", "usual"),
    [
        pytest.param({"length": [28 * INCH, 28.0625 * INCH]}, True, id="a sixteenth"),
        pytest.param({"length": [28 * INCH, 28.07 * INCH]}, False, id="more than a sixteenth"),
        pytest.param({"length": [28 * INCH, 30 * INCH]}, False, id="two arrows that differ"),
        pytest.param({"mass": [350 * GRAIN, 355 * GRAIN]}, True, id="five grains"),
        pytest.param({"mass": [350 * GRAIN, 355.1 * GRAIN]}, False, id="more than five grains"),
    ],
)
def test_range_usual_in_a_set(columns, usual):
    (spread,) = check(**columns).spread
    (name, (low, high)) = next(iter(columns.items()))
    assert (spread.figure, spread.count, spread.usual) == (name, 2, usual)
    assert spread.range == pytest.approx(high - low)


@given(st.lists(st.floats(0.5, 1.0), min_size=2, max_size=15))
def test_spread_agrees_with_the_statistics_module(lengths):
    (spread,) = check(length=[*lengths, NAN]).spread
    assert spread.count == len(lengths)
    assert spread.range == max(lengths) - min(lengths)
    assert spread.deviation == pytest.approx(statistics.stdev(lengths), abs=1e-12)


def test_one_arrow_has_no_spread():
    assert check(length=[0.7, NAN], mass=[0.02, 0.021]).spread[0].figure == "mass"
    assert check(length=[0.7]).spread == ()


@pytest.mark.parametrize(
    ("columns", "message"),
    [
        ({"length": [0.7, 0.0]}, "not positive"),
        ({"length": [0.7, math.inf]}, "infinite"),
        ({"length": [0.7, 0.7], "mass": [0.02]}, "each arrow"),
    ],
    ids=["zero", "infinite", "columns"],
)
def test_what_is_no_set_is_refused(columns, message):
    with pytest.raises(ValueError, match=message):
        check(**columns)
