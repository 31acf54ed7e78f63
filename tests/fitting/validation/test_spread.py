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


def beyond(limit, base, deviation, count):
    """Expected number in a thousand draws beyond a limit; all in millimetres, the mean zero."""
    return exceedance_per_thousand(limit / 1000, 0.0, base / 1000, deviation / 1000, count)


@pytest.mark.parametrize("count", [2.0, 6.0, 12.0, 40.0])
@pytest.mark.parametrize("limit", [-10.0, 0.0, 5.0, 40.0])
@pytest.mark.parametrize(("base", "deviation"), [(INCH, 10.0), (10.0, 0.0), (6.0, 30.0)])
def test_expected_number_against_scipy(count, limit, base, deviation):
    """scipy.stats.t is the oracle, with the prior of V: derived."""
    freedom = 3 + count - 1
    prior = base / stats.t.ppf(0.99865, 3)
    scale = math.sqrt((3 * prior**2 + (count - 1) * deviation**2) / freedom * (1 + 1 / count))
    oracle = 1000 * stats.t.sf(limit / scale, freedom)
    assert beyond(limit, base, deviation, count) == pytest.approx(oracle, rel=1e-9)


@pytest.mark.parametrize(("multiple", "printed"), [(1.0, "158.7"), (2.0, "22.8"), (3.0, "1.3")])
def test_expected_number_of_very_many_draws(multiple, printed):
    """Beyond one, two and three deviations: 15.87, 2.28 and 0.135 per cent, any normal table."""
    found = beyond(multiple * 100, 6.0, 100.0, 1_000_000.0)
    assert f"{found:.1f}" == printed


@pytest.mark.parametrize("count", [2, 5, 12])
@pytest.mark.parametrize("limit", [4.0, 10.0, 25.0])
def test_expected_number_is_met(count, limit):
    """Archers drawn from the prior itself meet on average what is predicted for them.

    numpy's generator; derived. 200,000 archers, each with a deviation of its own.
    """
    rng = np.random.default_rng(5)
    prior = INCH / stats.t.ppf(0.99865, 3)
    deviations = prior * np.sqrt(3 / rng.chisquare(3, 200_000))
    draws = rng.normal(size=(200_000, count)) * deviations[:, None]
    rests = draws.mean(axis=1) + limit
    predicted = exceedance_per_thousand(
        rests / 1000,
        draws.mean(axis=1) / 1000,
        INCH / 1000,
        draws.std(axis=1, ddof=1) / 1000,
        np.full(200_000, float(count)),
    ).mean()
    happened = 1000 * stats.norm.sf(rests / deviations).mean()
    assert happened == pytest.approx(predicted, rel=0.05)


@pytest.mark.parametrize("count", [2, 3, 12, 100])
@pytest.mark.parametrize("deviation", [0.0, 3.0, 10.0, 30.0])
@pytest.mark.parametrize("base", [INCH, 10.0, 6.0])
def test_no_more_than_the_stated_share_lies_beyond_the_allowance(base, deviation, count):
    """At V itself at most 1.35 in a thousand, so that odds and minimum never disagree: derived."""
    found = allowance(base, deviation, count)
    odds = beyond(found, base, deviation, count)
    assert odds <= 1.35 + 1e-9
    if found > base + 1e-6:
        assert odds == pytest.approx(1.35)
