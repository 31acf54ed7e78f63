"""Months of growth: whole ones, never overstated."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawmark.fitting.kit.safe_time import count_safe_months
from drawmark.fitting.limits import MOST_SAFE_MONTHS, TOLERANCE, longer
from drawmark.fitting.units import INCH


@pytest.mark.parametrize(
    ("longest", "draw", "rate", "state", "months"),
    [
        pytest.param(0.70, 0.66, 0.004, "growing", 10, id="exactly ten months"),
        pytest.param(0.70, 0.6601, 0.004, "growing", 9, id="part of a month does not count"),
        pytest.param(0.70, 0.70, 0.004, "growing", 0, id="used up today"),
        pytest.param(0.70, 0.70 + TOLERANCE / 2, 0.004, "growing", 0, id="equal by tolerance"),
        pytest.param(0.70, 0.701, 0.004, "already_outgrown", None, id="used up before"),
        pytest.param(0.70, 0.701, 0.0, "already_outgrown", None, id="past, grown up"),
        pytest.param(0.70, 0.66, 0.0, "not_growing", None, id="grown up"),
        pytest.param(0.70, 0.66, 5e-324, "growing", MOST_SAFE_MONTHS, id="hardly grows"),
        pytest.param(27 * INCH, 26 * INCH, INCH / 8, "growing", 8, id="in inches"),
    ],
)
def test_worked_months(longest, draw, rate, state, months):
    found = count_safe_months(longest_safe_draw=longest, draw=draw, growth_rate=rate)
    assert (found.state, found.months) == (state, months)


@given(st.floats(0.3, 1.2), st.floats(0.3, 1.2), st.floats(1e-4, 0.02))
def test_months_are_never_overstated_and_none_is_lost(longest, draw, rate):
    found = count_safe_months(longest_safe_draw=longest, draw=draw, growth_rate=rate)
    if found.months is None:
        assert longer(draw, longest)
        return
    assert not longer(draw + found.months * rate, longest)
    if found.months < MOST_SAFE_MONTHS:
        assert longer(draw + (found.months + 1) * rate + TOLERANCE, longest)


@pytest.mark.parametrize(
    ("figures", "message"),
    [
        ({"growth_rate": -0.001}, "does not shorten"),
        ({"growth_rate": math.nan}, "finite"),
        ({"draw": math.inf}, "finite"),
    ],
    ids=["shrinking", "nan", "infinite"],
)
def test_what_is_no_growth_is_refused(figures, message):
    with pytest.raises(ValueError, match=message):
        count_safe_months(
            **({"longest_safe_draw": 0.7, "draw": 0.66, "growth_rate": 0.004} | figures)
        )
