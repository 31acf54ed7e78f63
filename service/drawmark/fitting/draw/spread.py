"""The spread of the draw: what to allow for it, and how often a limit is passed."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from scipy.special import chdtri, stdtr, stdtrit

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, maximum, square_root

_PRIOR = limits.SPREAD_PRIOR_FREEDOM


def allowance_for_spread(base: float, deviation: Real | None, count: Real | None) -> Real:
    """Give V, how much longer than the mean the next draw may be.

    It is the posterior prediction of a normal draw. The prior is a scaled inverse chi-square of
    3 degrees of freedom, whose own prediction is `base`, so that few draws are neither taken
    for certain nor punished for being few.

    Parameters
    ----------
    base : float
        V where nothing was measured, and the least V [m].
    deviation : float, column or None
        Standard deviation of the measured draws [m].
    count : float, column or None
        Number of measured draws [1].

    Returns
    -------
    float or column
        Allowance V. Of normal draws that vary by up to a quarter of the base, at most 1.35 of a
        thousand are longer; of few that vary widely, or of skewed ones, many more [m].

    References
    ----------
    .. [1] spread-prediction
    """
    if deviation is None or count is None:
        return base
    scale, freedom = _prediction(base, deviation, count)
    return maximum(base, _by_count(_quantile, freedom) * scale)


def least_deviation(deviation: Real, count: Real) -> Real:
    """Give the lower bound of the true deviation, with 95 % confidence.

    Parameters
    ----------
    deviation : float or column
        Standard deviation of the measured draws [m].
    count : float or column
        Number of measured draws, 2 or more [1].

    Returns
    -------
    float or column
        Lower confidence bound of the deviation [m].

    References
    ----------
    .. [1] deviation-bound
    """
    return deviation * square_root((count - 1) / _by_count(_chi_square, count - 1))


def exceedance_per_thousand(
    limit: Real, mean: Real, base: float, deviation: Real, count: Real
) -> Real:
    """Predict how many of a thousand draws go beyond a limit.

    The prediction is that of `allowance_for_spread`: beyond the mean and V lie 1.35 of a
    thousand, or fewer where V is the base.

    Parameters
    ----------
    limit : float or column
        Draw not to be exceeded [m].
    mean : float or column
        Mean of the measured draws [m].
    base : float
        V where nothing was measured [m].
    deviation : float or column
        Standard deviation of the measured draws [m].
    count : float or column
        Number of measured draws [1].

    Returns
    -------
    float or column
        Expected number in a thousand draws, if they are normal [1].

    References
    ----------
    .. [1] spread-prediction
    """
    scale, freedom = _prediction(base, deviation, count)
    share = stdtr(freedom, (mean - limit) / scale)
    return 1000.0 * np.asarray(share, np.float64) if np.ndim(share) else 1000.0 * float(share)


def _prediction(base: float, deviation: Real, count: Real) -> tuple[Real, Real]:
    """Give scale [m] and degrees of freedom of the next draw's Student distribution."""
    prior = base / _quantile(_PRIOR)
    freedom = _PRIOR + count - 1
    variance = (_PRIOR * prior * prior + (count - 1) * deviation * deviation) / freedom
    return square_root(variance * (1 + 1 / count)), freedom


@lru_cache(maxsize=1024)
def _quantile(freedom: float) -> float:
    """Student's t quantile at the level of prediction."""
    return float(stdtrit(freedom, limits.PREDICTION_LEVEL))


@lru_cache(maxsize=1024)
def _chi_square(freedom: float) -> float:
    """Chi-square that is passed in 5 of a hundred samples."""
    return float(chdtri(freedom, 1 - limits.CONFIDENCE_LEVEL))


def _by_count(figure: Callable[[float], float], freedom: Real) -> Real:
    """Work out a figure once for each number of draws."""
    if isinstance(freedom, np.ndarray):
        numbers, places = np.unique(freedom, return_inverse=True)
        return np.array([figure(float(n)) for n in numbers])[places]
    return figure(freedom)
