"""What rounds of shots say about the ideal length: a posterior on grids, without randomness.

The offset is taken to follow the physics coordinate u, the logarithm of the equivalent
static spine, as b (exp(k (u - u_ideal)) - 1) / k: unknown ideal, unknown sensitivity b,
unknown bend k, and noise with heavy tails whose stated deviation may itself be wrong. Priors
are weak and stated in `limits`. The form, the priors and the noise are assumptions of this
project: no published data of bare-shaft offsets against arrow length was found, so the
posterior is validated against its own mathematics and a simulation, never against arrows.

References
----------
.. [1] cut-prior
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.fitting import limits
from drawmark.fitting.columns import Column
from drawmark.fitting.cutting.offsets import Evidence
from drawmark.fitting.cutting.spine_coordinate import Coordinate

_LENGTH_CELLS: Final = 64
_SENSITIVITY_CELLS: Final = 21
_BENDS: Final = np.array([-1.8, -0.9, 1e-9, 0.9, 1.8])
_ZOOMS: Final = 4
_NEGLIGIBLE: Final = 1e-5
# Bounds the product over the most rounds well inside the range of a float.
_WORST_MISFIT: Final = 1e4
MOST_ROUNDS: Final = 60


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Posterior:
    """How probable each ideal length is.

    Parameters
    ----------
    coordinate : Coordinate
        The measure used.
    edges : ndarray
        Edges of the cells of ideal length, rising [m].
    sensitivities : ndarray
        Offset over distance for one unit of log spine [rad].
    bends : ndarray
        Bend of the response.
    weights : ndarray
        Probability of each bend, ideal length and sensitivity; sums to 1.
    """

    coordinate: Coordinate
    edges: Column
    sensitivities: Column
    bends: Column
    weights: Column

    @property
    def cumulative(self) -> Column:
        """Probability that the ideal length lies below each edge."""
        return np.concatenate(([0.0], np.cumsum(self.weights.sum(axis=(0, 2)))))

    def probability_above(self, length: float) -> float:
        """Probability that the ideal is longer than a length [m]."""
        return max(0.0, float(1.0 - np.interp(length, self.edges, self.cumulative)))

    def quantile(self, share: float) -> float:
        """Length [m] below which the ideal lies with this probability."""
        return float(np.interp(share, self.cumulative, self.edges))

    def expected_offset(self, length: float) -> float:
        """Mean offset over distance [rad] that a round at a length [m] would show."""
        mean = _mean_offset(self.coordinate, self.edges, self.sensitivities, self.bends, length)
        return float(np.sum(self.weights * mean))

    def update(self, evidence: Evidence) -> Posterior:
        """Add one more round with normal noise, to ask what it would settle."""
        mean = _mean_offset(
            self.coordinate, self.edges, self.sensitivities, self.bends, evidence.length
        )
        misfit = ((evidence.offset - mean) / evidence.deviation) ** 2
        weights = self.weights * np.exp(-0.5 * (misfit - misfit.min()))
        return dataclasses.replace(self, weights=weights / weights.sum())


def _mean_offset(
    coordinate: Coordinate, edges: Column, sensitivities: Column, bends: Column, length: float
) -> Column:
    middle = coordinate.at((edges[1:] + edges[:-1]) / 2)
    bend = bends[:, None]
    shape = np.expm1(bend * (float(coordinate.at(length)) - middle)) / bend
    return shape[:, :, None] * sensitivities


def _posterior_weights(
    evidence: Sequence[Evidence], coordinate: Coordinate, edges: Column, logs: Column
) -> Column:
    sensitivities = np.exp(logs)
    freedom = limits.NOISE_FREEDOM
    shape = (_BENDS.size, edges.size - 1, logs.size)
    scales = limits.NOISE_SCALES
    misfits = [np.ones(shape) for _ in scales]
    scratch = np.empty(shape)
    for each in evidence:
        square = each.offset - _mean_offset(coordinate, edges, sensitivities, _BENDS, each.length)
        square /= max(each.deviation, limits.LEAST_DEVIATION)
        square *= square
        for misfit, (scale, _) in zip(misfits, scales, strict=True):
            np.divide(square, freedom * scale**2, out=scratch)
            np.minimum(scratch, _WORST_MISFIT, out=scratch)
            scratch += 1
            misfit *= scratch
    # Only ratios matter; the common factor keeps the powers in range.
    least = min(float(misfit.min()) for misfit in misfits)
    weights = np.zeros(shape)
    for misfit, (scale, share) in zip(misfits, scales, strict=True):
        weights += share * scale ** -len(evidence) * (misfit / least) ** (-(freedom + 1) / 2)
    spread = (logs - np.log(limits.SENSITIVITY)) / limits.SENSITIVITY_DEVIATION
    weights *= np.exp(-0.5 * spread**2)
    weights *= np.exp(-0.5 * (_BENDS / limits.BEND_DEVIATION) ** 2)[:, None, None]
    usual = max(each.length for each in evidence) - limits.IDEAL_EXPECTED_BELOW
    away = ((edges[1:] + edges[:-1]) / 2 - usual) / limits.IDEAL_DEVIATION
    weights *= np.exp(-0.5 * away**2)[None, :, None]
    return np.asarray(weights / weights.sum())


def _support(marginal: Column, edges: Column) -> tuple[float, float]:
    kept = np.flatnonzero(marginal > _NEGLIGIBLE)
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
    middle, reach = np.log(limits.SENSITIVITY), 3 * limits.SENSITIVITY_DEVIATION
    slow, fast = float(middle - reach), float(middle + reach)
    for _ in range(_ZOOMS):
        edges = np.linspace(low, high, _LENGTH_CELLS + 1)
        bounds = np.linspace(slow, fast, _SENSITIVITY_CELLS + 1)
        logs = (bounds[1:] + bounds[:-1]) / 2
        weights = _posterior_weights(evidence, coordinate, edges, logs)
        near, far = _support(weights.sum(axis=(0, 2)), edges)
        slower, faster = _support(weights.sum(axis=(0, 1)), bounds)
        shrunk = (far - near) * (faster - slower) / ((high - low) * (fast - slow))
        if shrunk > 0.6:
            break
        low, high, slow, fast = near, far, slower, faster
    return Posterior(
        coordinate=coordinate,
        edges=edges,
        sensitivities=np.exp(logs),
        bends=_BENDS,
        weights=weights,
    )
