"""Odd arrows, with the median absolute deviation of scipy.stats as the reference."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation

from drawmark.fitting import limits
from drawmark.fitting.kit.odd_arrows import FIGURES, check_consistency
from drawmark.fitting.units import GRAIN

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
    limit = max(reference, limits.LEAST_ODD_LENGTH)
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
        pytest.param({"length": [0.70, 0.71, 0.72, 0.73]}, [], id="a spread-out set has no odd"),
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
    [([0.71, 0.69, NAN], 0.69), ([0.7], 0.7), ([NAN, NAN], None), ([], None)],
    ids=["odd ones count", "one arrow", "none measured", "no arrows"],
)
def test_shortest_length(lengths, shortest):
    assert check(length=lengths).shortest == shortest


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
