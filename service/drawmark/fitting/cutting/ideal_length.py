"""What rounds of shots say about the ideal length: a posterior on grids, without randomness.

The offset is taken to follow the physics coordinate u, the logarithm of the equivalent
static spine, as b (exp(k (u - zero)) - 1) / k: unknown zero, unknown sensitivity b, unknown
bend k. A round's noise has heavy tails, its stated deviation may itself be wrong, and a few
rounds say nothing at all. Besides, all rounds together are off by one systematic error, which
no number of rounds shows: the ideal lies beside the zero by that error over the sensitivity.

Priors are weak and stated in `limits`. The form, the priors and the noise are assumptions of
this project: no published data of bare-shaft offsets against arrow length was found, so the
posterior is validated against its own mathematics and simulations, never against arrows.

References
----------
.. [1] cut-prior
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import ndtr

from drawmark.fitting import limits
from drawmark.fitting.columns import Column
from drawmark.fitting.cutting.offsets import Evidence
from drawmark.fitting.cutting.spine_coordinate import Coordinate

_ZERO_CELLS: Final = 48
_SENSITIVITY_CELLS: Final = 15
_BENDS: Final = np.array([-2.0, -1.0, 1e-9, 1.0, 2.0])
_ZOOMS: Final = 4
_NEGLIGIBLE: Final = 1e-5
_FAINT: Final = 1e-4
_COARSE: Final = 11
# Shares that a normal distribution reaches at even steps: close where it turns, and far out.
_SHARES: Final = tuple(ndtr(np.linspace(-3.6, 3.6, count)) for count in (11, 31))
MOST_ROUNDS: Final = 60

# Student's t with 5 degrees of freedom in closed form: scipy.special takes thirty times as long.
_FREEDOM: Final = 5.0
_PEAK: Final = 8 / (3 * np.pi * np.sqrt(_FREEDOM))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Posterior:
    """How probable each ideal length is.

    Parameters
    ----------
    coordinate : Coordinate
        The measure used.
    zeros : ndarray
        Coordinates at which the rounds would read no offset, rising.
    sensitivities : ndarray
        Offset over distance for one unit of log spine [rad].
    weights : ndarray
        Probability of each bend, zero and sensitivity; sums to 1.
    lengths : ndarray
        Arrow lengths, rising [m].
    cumulative : ndarray
        Probability that the ideal is shorter than each.
    """

    coordinate: Coordinate
    zeros: Column
    sensitivities: Column
    weights: Column
    lengths: Column
    cumulative: Column

    def probability_above(self, length: float) -> float:
        """Probability that the ideal is longer than a length [m]."""
        below = float(np.interp(length, self.lengths, self.cumulative, 0.0, 1.0))
        return max(0.0, 1.0 - below)

    def quantile(self, share: float) -> float:
        """Length [m] below which the ideal lies with this probability."""
        return float(np.interp(share, self.cumulative, self.lengths))

    def expected_offset(self, length: float) -> float:
        """Mean offset over distance [rad] that a round at a length [m] would show."""
        mean = _mean_offset(self.coordinate, self.zeros, self.sensitivities, length)
        return float(np.sum(self.weights * mean))

    def update(self, evidence: Evidence) -> Posterior:
        """Add one more round with normal noise, to ask what it would settle."""
        mean = _mean_offset(self.coordinate, self.zeros, self.sensitivities, evidence.length)
        misfit = ((evidence.offset - mean) / evidence.deviation) ** 2
        weights = self.weights * np.exp(-0.5 * (misfit - misfit.min()))
        chance = _chance_below(self.coordinate, self.zeros, self.sensitivities, weights)
        return dataclasses.replace(
            self, weights=weights / weights.sum(), cumulative=chance(self.lengths)
        )


def _chance_below(
    coordinate: Coordinate, zeros: Column, sensitivities: Column, weights: Column
) -> Callable[[Column], Column]:
    """Chance that the ideal is shorter than lengths [m], the systematic error included."""
    marginal = weights.sum(axis=0)
    likely = marginal > _FAINT * marginal.max()
    share = marginal[likely] / marginal[likely].sum()
    zero, sensitivity = (
        each[likely] for each in np.broadcast_arrays(zeros[:, None], sensitivities)
    )

    def chance(lengths: Column) -> Column:
        past = coordinate.at(lengths)[:, None] - zero
        return np.asarray(ndtr(past * (sensitivity / limits.SYSTEMATIC_DEVIATION)) @ share)

    return chance


def _mean_offset(
    coordinate: Coordinate, zeros: Column, sensitivities: Column, length: float
) -> Column:
    bend = _BENDS[:, None]
    shape = np.expm1(bend * (float(coordinate.at(length)) - zeros)) / bend
    return np.asarray(shape[:, :, None] * sensitivities)


def student_below(deviations: Column) -> Column:
    """Chance that Student's t with 5 degrees of freedom lies below."""
    root = deviations / np.sqrt(_FREEDOM)
    part = 1 / (1 + root * root)
    return np.asarray(0.5 + (np.arctan(root) + root * part * (1 + 2 / 3 * part)) / np.pi)


def _likelihood(past: Column, sign: int | None, scale: float, wild: float) -> Column:
    """Chance of a round that lies so many of its stated deviations past the curve."""
    sound = 1.0 - limits.WILD_SHARE
    if sign is not None:
        return sound * student_below(past * (-sign / scale)) + limits.WILD_SHARE / 2
    near = past * past
    near *= 1 / (_FREEDOM * scale**2)
    near += 1
    near *= near * near
    np.divide(sound * _PEAK / scale, near, out=near)
    near += limits.WILD_SHARE * wild
    return np.asarray(near)


def _posterior_weights(
    evidence: Sequence[Evidence], coordinate: Coordinate, zeros: Column, logs: Column
) -> Column:
    sensitivities = np.exp(logs)
    shape = (_BENDS.size, zeros.size, logs.size)
    chances = [np.full(shape, share) for _, share in limits.NOISE_SCALES]
    for each in evidence:
        deviation = max(each.deviation, limits.LEAST_DEVIATION)
        past = each.offset - _mean_offset(coordinate, zeros, sensitivities, each.length)
        past /= deviation
        wild = limits.WILD_DENSITY * deviation
        for chance, (scale, _) in zip(chances, limits.NOISE_SCALES, strict=True):
            chance *= _likelihood(past, each.sign, scale, wild)
    weights = np.sum(chances, axis=0)
    spread = (logs - np.log(limits.SENSITIVITY)) / limits.SENSITIVITY_DEVIATION
    weights *= np.exp(-0.5 * spread**2)
    weights *= np.exp(-0.5 * (_BENDS / limits.BEND_DEVIATION) ** 2)[:, None, None]
    return np.asarray(weights)


def _support(marginal: Column, edges: Column) -> tuple[float, float]:
    kept = np.flatnonzero(marginal > _NEGLIGIBLE * marginal.sum())
    return (
        float(edges[max(kept[0] - 1, 0)]),
        float(edges[min(kept[-1] + 2, edges.size - 1)]),
    )


def infer_ideal(evidence: Sequence[Evidence], coordinate: Coordinate) -> Posterior:
    """Update the weak priors with rounds of shots.

    The grid closes in on where the probability lies, so it resolves sharp and blunt evidence
    alike.

    Parameters
    ----------
    evidence : sequence of Evidence
        Rounds of one setup; one at least.
    coordinate : Coordinate
        Physics coordinate; its range is the range of ideal lengths considered, and must
        hold every length shot.

    Returns
    -------
    Posterior
        Probability of each ideal length.

    Raises
    ------
    ValueError
        If there is no evidence or too much, or a length lies outside the coordinate's range.

    References
    ----------
    .. [1] cut-prior
    """
    if not evidence:
        raise ValueError("no evidence")
    if len(evidence) > MOST_ROUNDS:
        raise ValueError(f"more than {MOST_ROUNDS} rounds of one setup")
    low, high = float(coordinate.lengths[0]), float(coordinate.lengths[-1])
    if any(limits.shorter(e.length, low) or limits.longer(e.length, high) for e in evidence):
        raise ValueError("a length lies outside the coordinate's range")
    usual = max(each.length for each in evidence) - limits.IDEAL_EXPECTED_BELOW
    middle, reach = np.log(limits.SENSITIVITY), 3 * limits.SENSITIVITY_DEVIATION
    slow, fast = float(middle - reach), float(middle + reach)
    for _ in range(_ZOOMS):
        edges = np.linspace(low, high, _ZERO_CELLS + 1)
        bounds = np.linspace(slow, fast, _SENSITIVITY_CELLS + 1)
        lengths, logs = (edges[1:] + edges[:-1]) / 2, (bounds[1:] + bounds[:-1]) / 2
        zeros = coordinate.at(lengths)
        weights = _posterior_weights(evidence, coordinate, zeros, logs)
        weights *= np.exp(-0.5 * ((lengths - usual) / limits.IDEAL_DEVIATION) ** 2)[:, None]
        near, far = _support(weights.sum(axis=(0, 2)), edges)
        slower, faster = _support(weights.sum(axis=(0, 1)), bounds)
        shrunk = (far - near) * (faster - slower) / ((high - low) * (fast - slow))
        if shrunk > 0.6:
            break
        low, high, slow, fast = near, far, slower, faster
    sensitivities = np.exp(logs)
    chance = _chance_below(coordinate, zeros, sensitivities, weights)
    table = np.linspace(coordinate.lengths[0], coordinate.lengths[-1], _COARSE)
    for shares in _SHARES:
        table = np.interp(shares, chance(table), table)
    return Posterior(
        coordinate=coordinate,
        zeros=zeros,
        sensitivities=sensitivities,
        weights=weights / weights.sum(),
        lengths=table,
        cumulative=chance(table),
    )
