"""The allowance for the spread of the draw: no cliff, and no punishment for measuring."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawmark.fitting.draw.spread import (
    allowance_for_spread,
    exceedance_per_thousand,
    least_deviation,
)

BASE = st.sampled_from([0.0254, 0.010, 0.006])
DEVIATION = st.floats(0.0, 0.15)
COUNT = st.integers(2, 500)


@pytest.mark.parametrize(("deviation", "count"), [(None, None), (0.03, None), (None, 12.0)])
def test_without_a_measured_spread_it_is_the_base(deviation, count):
    assert allowance_for_spread(0.0254, deviation, count) == 0.0254


@given(BASE, DEVIATION, COUNT, COUNT)
def test_more_draws_of_the_same_spread_never_raise_it(base, deviation, first, second):
    few, many = sorted((first, second))
    assert allowance_for_spread(base, deviation, float(many)) <= allowance_for_spread(
        base, deviation, float(few)
    )


@given(BASE, DEVIATION, DEVIATION, COUNT)
def test_a_wider_spread_never_lowers_it(base, first, second, count):
    narrow, wide = sorted((first, second))
    assert allowance_for_spread(base, narrow, float(count)) <= allowance_for_spread(
        base, wide, float(count)
    )


@given(BASE, DEVIATION, COUNT)
def test_it_is_never_less_than_the_base(base, deviation, count):
    assert allowance_for_spread(base, deviation, float(count)) >= base


@given(DEVIATION, COUNT)
def test_the_least_deviation_is_no_more_than_what_was_measured(deviation, count):
    assert least_deviation(deviation, float(count)) <= deviation


@given(st.lists(st.tuples(DEVIATION, COUNT), min_size=1, max_size=6))
def test_columns_are_as_single_figures(rows):
    deviations, counts = (np.array(column, float) for column in zip(*rows, strict=True))
    for function in (lambda s, n: allowance_for_spread(0.0254, s, n), least_deviation):
        column = function(deviations, counts)
        assert column.tolist() == [function(float(s), float(n)) for s, n in rows]


@pytest.mark.parametrize(
    ("limit", "expected"),
    [
        pytest.param(0.60, 1000.0, id="all beyond a limit far below"),
        pytest.param(0.66, 500.0, id="half beyond the mean"),
        pytest.param(0.70, 0.0, id="none beyond one far above"),
    ],
)
def test_expected_number_without_spread(limit, expected):
    assert exceedance_per_thousand(limit, 0.66, 0.0254, 0.0, 100.0) == pytest.approx(
        expected, abs=1e-3
    )


def test_expected_number_of_a_column():
    limits = np.array([0.66, 0.67, 0.70])
    column = exceedance_per_thousand(limits, 0.66, 0.0254, 0.01, 12.0)
    single = [exceedance_per_thousand(float(one), 0.66, 0.0254, 0.01, 12.0) for one in limits]
    assert column.tolist() == pytest.approx(single, rel=1e-12)
