"""The bare shaft as the cut plan sees it: how short it can be, and its physics coordinate."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from drawmark.fitting import limits
from drawmark.fitting.columns import Column
from drawmark.fitting.cutting.spine_coordinate import Coordinate, coordinate_lengths
from drawmark.fitting.mechanics.arrow_parts import CutEnd
from drawmark.fitting.mechanics.arrow_validation import length_of, projection_of, shaft_of
from drawmark.fitting.mechanics.spine import log_equivalent_spine
from drawmark.fitting.model import Arrow


def shortest_cut(arrow: Arrow) -> float:
    """Shortest arrow length at which all that is fitted to the shaft still finds room.

    Parameters
    ----------
    arrow : Arrow
        The arrow as it now is.

    Returns
    -------
    float
        Arrow length; not a safe one, only one that can be built [m].
    """
    point, insert, wrap, vanes = arrow.point, arrow.insert, arrow.wrap, arrow.fletching
    inside = [
        0.0 if point is None else point.shank_length,
        0.0 if point is None else point.sleeve_length,
        0.0 if point is None or point.centre is None else 0.0 - point.centre,
        0.0 if insert is None else insert.length,
        0.0 if wrap is None else wrap.length,
    ]
    rear = float(projection_of(arrow))
    tube = max(float(one) for one in inside if one is not None)
    front = 0.0
    if vanes is not None and vanes.rear_edge is not None:
        front = float(vanes.rear_edge + (0.0 if vanes.length is None else vanes.length))
    return max(rear + max(tube, limits.SMALLEST_STEP), front)


def coordinates_of(
    arrow: Arrow, lengths: Sequence[float], end: CutEnd = "front"
) -> tuple[Coordinate, Coordinate]:
    """Physics coordinate of an arrow's bare shaft by both measures, around the lengths shot.

    Parameters
    ----------
    arrow : Arrow
        The arrow as it now is; its vanes are left away, since bare shafts are compared.
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
        Where a needed field is not given, or fields cannot stand together.
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
        # Of what was cut away at the front the stations may tell; at the rear nothing does.
        if end == "front":
            original = dataclasses.replace(original, length=max(lengths))
        top = float(length_of(original))
    if top - lowest < limits.SMALLEST_STEP:
        raise ValueError("nothing of the shaft can be cut")
    count = math.ceil((top - lowest) / limits.COORDINATE_STEP) + 1
    grid = np.linspace(lowest, top, count)
    vibration, launch = log_equivalent_spine(original, grid, end)
    return (
        _carry(Coordinate(name="free_vibration", lengths=grid, log_spine=vibration), every),
        _carry(Coordinate(name="launch", lengths=grid, log_spine=launch), every),
    )


def _carry(coordinate: Coordinate, every: Column) -> Coordinate:
    """Carry the slopes at both ends on over all lengths considered: an ideal may lie there."""
    reached = coordinate.reach(float(every[-1]))
    lengths, log_spine = reached.lengths, reached.log_spine
    span = float(lengths[0] - every[0])
    if span <= limits.TOLERANCE:
        return reached
    slope = float((log_spine[1] - log_spine[0]) / (lengths[1] - lengths[0]))
    return Coordinate(
        name=coordinate.name,
        lengths=np.insert(lengths, 0, every[0]),
        log_spine=np.insert(log_spine, 0, log_spine[0] - slope * span),
    )
