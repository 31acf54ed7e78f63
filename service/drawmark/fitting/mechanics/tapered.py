"""Elements of a tapered shaft: they end at its stations.

Stiffness and mass per length change linearly between stations, so such elements follow every
neck and shoulder. Stations too close for an element between them, which would drown the others
in rounding, share one end; what lies between them still counts where it is.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from drawmark.fitting.columns import Column
from drawmark.fitting.limits import longer
from drawmark.fitting.mechanics.moments import powers
from drawmark.fitting.mechanics.stations import Profile

_FEWEST: Final = 24
_NARROWEST: Final = 1 / 2000
"""Least length of an element, as a share of the tube."""


def elements_of(profile: Profile, length: float) -> int:
    """Count the elements of a tube, the same however the shaft is cut.

    Parameters
    ----------
    profile : Profile
        Stations of the shaft.
    length : float
        Length of the tube [m].

    Returns
    -------
    int
        Enough that none need be longer than a twenty-fourth of the tube.
    """
    outside = longer(float(profile.position[0]), 0.0) + longer(length, float(profile.position[-1]))
    return _FEWEST + len(profile.position) + int(outside) - 1


def edges_of(profile: Profile, length: float, elements: int) -> Column:
    """Ends of the elements of a tube [m].

    Parameters
    ----------
    profile : Profile
        Stations of the shaft.
    length : float
        Length of the tube [m].
    elements : int
        Number of elements, enough for each interval between stations to have one.

    Returns
    -------
    Column
        Rising from 0 to the length. Every interval is split evenly, and the longest element
        is as short as possible [m].
    """
    gap = length * _NARROWEST
    ends = [0.0]
    for place in profile.position:
        if ends[-1] + gap < place < length - gap:
            ends.append(float(place))
    intervals = np.diff([*ends, length])
    # Each further element goes where elements are longest.
    longest = intervals[:, None] / np.arange(1, elements + 1)
    further = np.argsort(-longest, axis=None, kind="stable")[: elements - len(intervals)]
    parts = 1 + np.bincount(further // elements, minlength=len(intervals))
    return np.concatenate(
        [start + wide * np.arange(count) / count
         for start, wide, count in zip(ends, intervals, parts, strict=True)]
        + [[length]]
    )  # fmt: skip


def shape_of(profile: Profile, edges: Column) -> tuple[Column, Column]:
    """What it takes to bend each element, and the moments of its mass.

    Parameters
    ----------
    profile : Profile
        Stations of the shaft.
    edges : Column
        Ends of the elements [m].

    Returns
    -------
    tuple of Column
        As in Tubes, by element, at a reference stiffness and mass per length of 1.
    """
    breaks = np.union1d(edges, profile.breaks(0.0, float(edges[-1])))
    home = np.searchsorted(edges, breaks[:-1], side="right") - 1
    start, width = edges[home, None], np.diff(edges)[home, None]
    firsts = np.searchsorted(breaks, edges[:-1])

    place, compliance = profile.compliance(breaks)
    side = 2 * (place - start) / width - 1
    turned = compliance * side
    sums = np.stack([compliance, turned, turned * side], axis=1).sum(axis=2)
    even, between, aside = np.add.reduceat(sums, firsts).T
    bending = np.stack([aside, -between, even], axis=1) / (even * aside - between**2)[:, None]

    place, mass = profile.masses(breaks)
    moments = (powers((place - start) / width, 0) * mass[..., None]).sum(axis=1)
    return bending, np.add.reduceat(moments, firsts)
