"""Elements of a tapered shaft: they end at its stations.

Stiffness and mass per length change linearly between stations, so such elements follow every
neck and shoulder. Stations too close for an element between them, which would drown the others
in rounding, share one end; what lies between them still counts where it is.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Sequence
from operator import itemgetter
from typing import Final

import numpy as np

from drawmark.fitting.columns import Column
from drawmark.fitting.limits import longer
from drawmark.fitting.mechanics.stations import Profile

_FEWEST: Final = 24
_NARROWEST: Final = 1 / 2000
"""Least length of an element, as a share of the tube."""


def elements_of(position: Sequence[float], length: float) -> int:
    """Count the elements of a tube, the same however the shaft is cut.

    Parameters
    ----------
    position : sequence of float
        Stations of the shaft, ascending [m].
    length : float
        Length of the tube [m].

    Returns
    -------
    int
        Enough that none need be longer than a twenty-fourth of the tube.
    """
    outside = longer(position[0], 0.0) + longer(length, position[-1])
    return _FEWEST + len(position) + int(outside) - 1


def edges_of(position: Sequence[float], length: float, elements: int) -> list[float]:
    """Ends of the elements of a tube [m].

    Parameters
    ----------
    position : sequence of float
        Stations of the shaft, ascending [m].
    length : float
        Length of the tube [m].
    elements : int
        Number of elements, enough for each interval between stations to have one.

    Returns
    -------
    list of float
        Rising from 0 to the length. Every interval is split evenly, and the longest element
        is as short as possible [m].
    """
    gap = length * _NARROWEST
    ends = [0.0]
    for place in position:
        if ends[-1] + gap < place < length - gap:
            ends.append(place)
    ends.append(length)
    # Each further element goes where elements are longest.
    longest = [(start - end, at, 1) for at, (start, end) in enumerate(itertools.pairwise(ends))]
    heapq.heapify(longest)
    for _ in range(elements - len(longest)):
        _, at, parts = longest[0]
        heapq.heapreplace(longest, ((ends[at] - ends[at + 1]) / (parts + 1), at, parts + 1))
    edges = [
        ends[at] + (ends[at + 1] - ends[at]) * part / parts
        for _, at, parts in sorted(longest, key=itemgetter(1))
        for part in range(parts)
    ]
    return [*edges, length]


def shape_of(profile: Profile, edges: Column) -> tuple[Column, Column]:
    """What it takes to bend each element, and the moments of its mass.

    Parameters
    ----------
    profile : Profile
        Stations of each shaft.
    edges : Column
        Ends of the elements, by shaft [m].

    Returns
    -------
    tuple of Column
        As in Tubes, by shaft and element, at a reference stiffness and mass per length of 1.
    """
    pieces = profile.pieces(edges)
    size, elements = len(edges), edges.shape[1] - 1
    start, width = edges[:, :-1].ravel()[pieces.home], np.diff(edges).ravel()[pieces.home]
    # Where each piece lies on its element, from -1 to 1, and how far it reaches to either side.
    middle, side = 2 * (pieces.middle - start) / width - 1, pieces.width / width
    level, leaning, bent = pieces.bends()
    turned = level * middle + leaning * side
    even, between, aside = map(
        pieces.sum, (level, turned, (turned + leaning * side) * middle + bent * side * side)
    )
    bending = np.stack([aside, -between, even], axis=1) / (even * aside - between**2)[:, None]
    moments = np.stack([*map(pieces.sum, pieces.mass_moments(start, width).T)], axis=1)
    return bending.reshape(size, elements, -1), moments.reshape(size, elements, -1)
