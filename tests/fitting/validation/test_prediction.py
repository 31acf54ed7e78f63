"""The next draw after n: k(n) and expected numbers against Student's distribution.

The prediction interval for the next of n normal figures is that of any textbook of statistics:
derived, with scipy.stats.t as the reference library.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from drawmark.fitting.draw.draw_length import exceedance_per_thousand, prediction_factor


@pytest.mark.parametrize(("count", "printed"), [(12, "4.0"), (20, "3.5"), (30, "3.3")])
def test_factor_as_printed(count, printed):
    """Standard prediction interval, to a tenth: derived, scipy.stats.t as the reference."""
    assert f"{prediction_factor(float(count)):.1f}" == printed


@pytest.mark.parametrize("count", [2, 3, 6, 12, 20, 30, 100, 1000, 100_000])
def test_factor_against_scipy(count):
    """scipy.stats.t is the oracle: derived."""
    oracle = stats.t.ppf(0.99865, count - 1) * math.sqrt(1 + 1 / count)
    assert prediction_factor(float(count)) == pytest.approx(oracle, rel=1e-9)


def test_factor_of_three_draws_says_nothing():
    """k(3) is 22: why fewer than six draws are no measure of their spread (derived)."""
    assert f"{prediction_factor(3.0):.0f}" == "22"


def test_many_draws_come_to_the_normal_table():
    """One in 740 beyond three deviations: 99.865 per cent, any normal table; derived."""
    assert prediction_factor(100_000.0) == pytest.approx(3.0, abs=5e-4)


@pytest.mark.parametrize(
    ("count", "printed"), [(6, "19.5"), (12, "7.5"), (30, "3.1"), (100_000, "1.4")]
)
def test_beyond_three_deviations(count, printed):
    """Numbers in a thousand beyond mean + 3 s, s from n draws: standard prediction interval.

    Derived, scipy.stats.t as the reference; 1.35 for a normal table. Metres stand for
    millimetres, so that the micrometre which stands for no spread at all does not show.
    """
    found = exceedance_per_thousand(3000.0, 0.0, 1000.0, float(count))
    assert f"{found:.1f}" == printed


@pytest.mark.parametrize("count", [2.0, 6.0, 12.0, 40.0])
@pytest.mark.parametrize("limit", [-1.0, 0.0, 0.5, 4.0])
def test_expected_number_against_scipy(count, limit):
    """scipy.stats.t is the oracle: derived."""
    oracle = 1000 * stats.t.sf(limit / math.sqrt(1 + 1 / count), count - 1)
    assert exceedance_per_thousand(1000 * limit, 0.0, 1000.0, count) == pytest.approx(
        oracle, rel=1e-6
    )


@pytest.mark.parametrize("count", [6, 12])
def test_factor_against_drawing(count):
    """Draws of numpy's generator: the next passes mean + k(n) s as often as said; derived."""
    draws = np.random.default_rng(7).normal(size=(400_000, count + 1))
    known, following = draws[:, :count], draws[:, count]
    reach = known.mean(axis=1) + prediction_factor(float(count)) * known.std(axis=1, ddof=1)
    share = float((following > reach).mean())
    error = math.sqrt(0.00135 / len(draws))
    assert share == pytest.approx(0.00135, abs=4 * error)
