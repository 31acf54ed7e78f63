"""The spread of one archer's arrows, from the widths of groups.

References
----------
.. [1] range-factors
.. [2] cut-prior
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

import numpy as np
from scipy.special import ndtr

from drawmark.fitting import limits


@cache
def range_factors(count: int) -> tuple[float, float]:
    """Mean d2 and deviation d3 of the range of a normal sample of deviation 1.

    Parameters
    ----------
    count : int
        Size of the sample, 2 or more.

    Returns
    -------
    tuple of float
        d2 and d3.

    Raises
    ------
    ValueError
        If the sample has fewer than two members.

    References
    ----------
    .. [1] range-factors
    """
    if count < 2:
        raise ValueError("a range needs two or more")
    nodes, weights = np.polynomial.legendre.leggauss(80)
    ranges = 8.0 * (nodes + 1)[:, None]
    lowest, step = np.linspace(-9.0, 9.0, 361, retstep=True)
    density = np.exp(-0.5 * lowest**2) / math.sqrt(2 * math.pi)
    inside = (ndtr(lowest + ranges) - ndtr(lowest)) ** (count - 1)
    wider = 1 - count * step * np.sum(density * inside, axis=1)
    mean = float(8.0 * np.sum(weights * wider))
    square = float(8.0 * np.sum(weights * 2 * ranges[:, 0] * wider))
    return mean, math.sqrt(square - mean**2)


def estimate_deviation(widths: Sequence[tuple[float, int]]) -> float:
    """Deviation of one arrow from the widths of groups, and from a default while they are few.

    The width of three arrows says little: it varies by half its mean. Each width therefore
    counts for the degrees of freedom it is worth, and the project's default for two more.

    Parameters
    ----------
    widths : sequence of (float, int)
        Width over distance [rad] and number of arrows of each group.

    Returns
    -------
    float
        Standard deviation of one arrow across the target, over distance [rad].

    References
    ----------
    .. [1] range-factors
    .. [2] cut-prior
    """
    total = limits.ARROW_DEVIATION_FREEDOM
    square = total * limits.ARROW_DEVIATION**2
    for width, count in widths:
        mean, spread = range_factors(count)
        share = (spread / mean) ** 2
        freedom = 1 / (2 * share)
        square += freedom * (width / mean) ** 2 / (1 + share)
        total += freedom
    return math.sqrt(square / total)
