"""Logarithm of the equivalent static spine along arrow length: the coordinate of cut plans."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from drawmark.fitting import limits
from drawmark.fitting.columns import Column

SpineMeasure = Literal["free_vibration", "launch"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Coordinate:
    """Logarithm of the equivalent static spine along arrow length, by one measure.

    Parameters
    ----------
    name : str
        Name of the measure.
    lengths : ndarray
        Arrow lengths, rising [m].
    log_spine : ndarray
        Logarithm of the equivalent static spine at each, rising.
    """

    name: SpineMeasure
    lengths: Column
    log_spine: Column

    def __post_init__(self) -> None:
        """Refuse a coordinate that does not rise."""
        if np.any(np.diff(self.lengths) <= 0) or np.any(np.diff(self.log_spine) <= 0):
            raise ValueError("equivalent spine must rise with length")

    def at(self, length: Column | float) -> Column:
        """Coordinate at lengths [m] within its range."""
        return np.asarray(np.interp(length, self.lengths, self.log_spine))

    def reach(self, shortest: float, longest: float) -> Coordinate:
        """Carry the slopes at the ends on to lengths [m] where physics has no shaft."""
        lengths, spine = list(self.lengths), list(self.log_spine)
        if longest > lengths[-1]:
            slope = (spine[-1] - spine[-2]) / (lengths[-1] - lengths[-2])
            spine.append(spine[-1] + slope * (longest - lengths[-1]))
            lengths.append(longest)
        if lengths[0] - shortest > limits.TOLERANCE:
            slope = (spine[1] - spine[0]) / (lengths[1] - lengths[0])
            spine.insert(0, spine[0] - slope * (lengths[0] - shortest))
            lengths.insert(0, shortest)
        return Coordinate(name=self.name, lengths=np.array(lengths), log_spine=np.array(spine))


def coordinate_lengths(lengths: Sequence[float]) -> Column:
    """Arrow lengths at which a plan needs the coordinate.

    Parameters
    ----------
    lengths : sequence of float
        Every length shot, and the present one [m].

    Returns
    -------
    ndarray
        Rising lengths [m], from well below the shortest to above the longest.

    References
    ----------
    .. [1] cut-prior
    """
    low = max(min(lengths) - limits.IDEAL_REACH_BELOW, limits.SHORTEST_CONSIDERED)
    high = max(lengths) + limits.IDEAL_REACH_ABOVE
    return np.linspace(low, high, math.ceil((high - low) / limits.COORDINATE_STEP) + 1)
