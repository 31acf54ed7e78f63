"""The bare shaft in a cut plan: how short it can be, and how its spine acts along its length."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from drawmark.fitting import limits
from drawmark.fitting.cutting.spine_coordinate import Coordinate, coordinate_lengths
from drawmark.fitting.mechanics.arrow_parts import CutEnd
from drawmark.fitting.mechanics.arrow_validation import (
    length_of,
    lengths_along_tube,
    projection_of,
    shaft_of,
)
from drawmark.fitting.mechanics.spine import log_equivalent_spine
from drawmark.fitting.model import Arrow


def shortest_cut(arrow: Arrow) -> float:
    """Shortest arrow length at which every fitted part still finds room.

    Parameters
    ----------
    arrow : Arrow
        The arrow as it now is.

    Returns
    -------
    float
        Arrow length that can be built; it need not be safe [m].
    """
    tube = [limits.SMALLEST_STEP]
    tube += [float(length) for _, length in lengths_along_tube(arrow) if length is not None]
    if arrow.point is not None and arrow.point.centre is not None:
        tube.append(0.0 - float(arrow.point.centre))
    vanes, front = arrow.fletching, 0.0
    if vanes is not None and vanes.rear_edge is not None:
        front = float(vanes.rear_edge + (0.0 if vanes.length is None else vanes.length))
    return max(float(projection_of(arrow)) + max(tube), front)


def coordinates_of(
    arrow: Arrow, lengths: Sequence[float], end: CutEnd = "front"
) -> tuple[Coordinate, Coordinate]:
    """Coordinate of an arrow's bare shaft by both measures, around the lengths shot.

    Parameters
    ----------
    arrow : Arrow
        The arrow as it now is; its vanes do not count, since bare shafts are compared.
    lengths : sequence of float
        Every length shot, and the present one [m].
    end : {"front", "rear"}
        End of the shaft that is cut.

    Returns
    -------
    tuple of Coordinate
        By first bending frequency and by critical launch force.

    Raises
    ------
    FittingError
        Where a needed field is not given, or fields contradict each other.
    ValueError
        Where equivalent spine does not rise with length, or nothing can be cut.

    References
    ----------
    .. [1] cut-prior
    """
    every = coordinate_lengths(lengths)
    top = float(every[-1])
    lowest = max(float(every[0]), shortest_cut(arrow))
    original = dataclasses.replace(arrow, fletching=None, mass=None, balance_point=None)
    if shaft_of(arrow).stations is not None:
        # Stations may describe what was cut away at the front, never at the rear.
        if end == "front":
            original = dataclasses.replace(original, length=max(lengths))
        top = float(length_of(original))
    if top - lowest < limits.SMALLEST_STEP:
        raise ValueError("nothing of the shaft can be cut")
    count = math.ceil((top - lowest) / limits.COORDINATE_STEP) + 1
    grid = np.linspace(lowest, top, count)
    vibration, launch = log_equivalent_spine(original, grid, end)
    # The ideal may lie beyond the grid: carry the slopes on over all lengths considered.
    first, last = float(every[0]), float(every[-1])
    return (
        Coordinate(name="free_vibration", lengths=grid, log_spine=vibration).reach(first, last),
        Coordinate(name="launch", lengths=grid, log_spine=launch).reach(first, last),
    )
