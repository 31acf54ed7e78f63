"""The spread of the draw: the allowance V and expected numbers against Student's distribution.

V is the posterior prediction of a normal draw with a scaled inverse chi-square prior: derived, with
scipy.stats as the reference library. The prior itself is this project's, without a source.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from drawmark.fitting.draw.spread import (
    allowance_for_spread,
    exceedance_per_thousand,
    least_deviation,
)

INCH = 25.4
COUNTS = (2, 3, 4, 5, 6, 8, 12, 30)


def allowance(base, deviation, count):
    """V in millimetres."""
    return 1000 * allowance_for_spread(base / 1000, deviation / 1000, float(count))


@pytest.mark.parametrize(
    ("base", "deviation", "printed"),
    [
        (INCH, 10.0, "44.9 42.4 40.2 38.6 37.3 35.7 33.9 31.6"),
        (INCH, 12.7, "55.0 52.8 50.4 48.5 47.0 45.0 42.9 40.1"),
        (INCH, 20.0, "83.4 81.6 78.3 75.6 73.5 70.5 67.3 63.0"),
        (INCH, 30.0, "123.2 121.4 116.8 112.9 109.8 105.5 100.7 94.5"),
        (6.0, 5.0, "20.8 20.4 19.5 18.9 18.4 17.6 16.8 15.7"),
    ],
)
def test_allowance_as_tabled(base, deviation, printed):
    """Tabled in millimetres for 2, 3, 4, 5, 6, 8, 12 and 30 draws: derived, scipy.stats 1.17."""
    found = [allowance(base, deviation, count) for count in COUNTS]
    assert found == pytest.approx(list(map(float, printed.split())), abs=0.06)


@pytest.mark.parametrize("base", [INCH, 10.0, 6.0])
@pytest.mark.parametrize("count", [2, 3, 7, 12, 100, 100_000])
@pytest.mark.parametrize("deviation", [0.0, 3.0, 40.0])
def test_allowance_against_scipy(base, deviation, count):
    """The same by scipy.stats.t, which knows nothing of our quantiles: derived."""
    freedom = 3 + count - 1
    prior = base / stats.t.ppf(0.99865, 3)
    scale = math.sqrt((3 * prior**2 + (count - 1) * deviation**2) / freedom * (1 + 1 / count))
    oracle = max(base, float(stats.t.ppf(0.99865, freedom)) * scale)
    assert allowance(base, deviation, count) == pytest.approx(oracle, rel=1e-9)


@pytest.mark.parametrize(("count", "printed"), [(12, 4.0), (20, 3.5), (30, 3.3)])
def test_many_draws_come_to_the_prediction_interval(count, printed):
    """k(n), the factor without a prior, as printed: the prior makes it less, by little.

    Standard prediction interval, derived: 4.0 for 12 draws, 3.5 for 20, 3.3 for 30.
    """
    assert printed - 0.7 < allowance(6.0, 100.0, count) / 100 < printed + 0.05


def test_very_many_draws_come_to_the_normal_table():
    """One in 740 beyond three deviations: 99.865 per cent, any normal table; derived."""
    assert allowance(6.0, 100.0, 100_000) / 100 == pytest.approx(3.0, abs=5e-4)


@pytest.mark.parametrize(
    ("count", "printed"), [(2, "3.841"), (6, "11.070"), (11, "18.307"), (31, "43.773")]
)
def test_least_deviation(count, printed):
    """Chi-square of n - 1 degrees of freedom, 5 % beyond: any printed table; from memory."""
    assert least_deviation(1.0, float(count)) == pytest.approx(
        math.sqrt((count - 1) / float(printed)), rel=2e-4
    )


def test_least_deviation_is_passed_by_the_truth_19_times_in_20():
    """Samples of numpy's generator, true deviation 1; derived."""
    draws = np.random.default_rng(11).normal(size=(200_000, 5))
    least = least_deviation(draws.std(axis=1, ddof=1), 5.0)
    assert float((least < 1.0).mean()) == pytest.approx(0.95, abs=0.002)


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
