"""The parts of an arrow and their places, its tube, and what a cut changes.

Places run along the arrow from the bottom of the nock slot. The tube is the shaft alone:
it begins at the nock's projection and ends at the arrow length.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import Literal

import msgspec
import numpy as np

from drawmark.fitting.columns import Column, Real, any_true
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.limits import longer
from drawmark.fitting.mechanics.arrow_validation import (
    FLETCHING_PLACE,
    UNTESTABLE,
    length_of,
    missing_from,
    projection_of,
    shaft_of,
    stiffness_missing_from,
)
from drawmark.fitting.mechanics.stations import (
    Profile,
    profile_of,
    profiles_of,
    shift,
    tested_flexibility,
)
from drawmark.fitting.model import Arrow, Shaft, Station

CutEnd = Literal["front", "rear"]


class Part(msgspec.Struct, frozen=True, gc=False):
    """One part of the arrow and where its mass lies.

    Parameters
    ----------
    name : str
        Word of the trade.
    mass : Real
        Its mass [kg].
    start, end : Real
        Ends of its mass, from the bottom of the nock slot; equal for a lump [m].
    off_middle : Real
        How far its centre of mass lies ahead of the middle between the two [m].
    """

    name: str
    mass: Real
    start: Real
    end: Real
    off_middle: Real = 0.0

    @property
    def centre(self) -> Real:
        """Centre of its mass, from the bottom of the nock slot [m]."""
        return (self.start + self.end) * 0.5 + self.off_middle


def tube_length(arrow: Arrow) -> Real:
    """Length of the shaft alone [m].

    Parameters
    ----------
    arrow : Arrow
        Arrow with a length.

    Returns
    -------
    Real
        Arrow length less the nock's projection [m].

    Raises
    ------
    FittingError
        Where the length is not given.
    """
    return length_of(arrow) - projection_of(arrow)


def parts_of(arrow: Arrow) -> tuple[Part, ...]:
    """List the parts that have a mass, the shaft first.

    Parameters
    ----------
    arrow : Arrow
        Arrow with length, mass per length and point mass.

    Returns
    -------
    tuple of Part
        Shaft, point, insert, nock, fletching and wrap, as far as their masses are given.

    Raises
    ------
    FittingError
        Where one of the three is not given.
    """
    carried = carried_parts(arrow)
    assert arrow.shaft is not None
    assert arrow.length is not None
    return (_tube(arrow.shaft, projection_of(arrow), arrow.length), *carried)


def carried_parts(arrow: Arrow) -> list[Part]:
    """List the parts that the shaft carries, as `parts_of` does."""
    length, shaft, point = arrow.length, arrow.shaft, arrow.point
    if (
        length is None
        or shaft is None
        or shaft.mass_per_length is None
        or point is None
        or point.mass is None
    ):
        raise FittingError(*missing_from(arrow))
    rear = projection_of(arrow)
    front = length if point.centre is None else length + point.centre
    parts = [Part("point", point.mass, front, front)]
    insert, nock, fletching, wrap = arrow.insert, arrow.nock, arrow.fletching, arrow.wrap
    if insert is not None:
        start = length if insert.length is None else length - insert.length
        parts.append(Part("insert", insert.mass, start, length))
    if nock is not None and nock.mass is not None:
        parts.append(Part("nock", nock.mass, 0.0, 0.0))
    if fletching is not None and fletching.mass is not None:
        edge, vane = fletching.rear_edge, fletching.length
        if edge is None or vane is None:
            raise FittingError(FLETCHING_PLACE)
        parts.append(Part("fletching", fletching.mass, edge, edge + vane))
    if wrap is not None:
        parts.append(Part("wrap", wrap.mass, rear, rear + wrap.length))
    return parts


def _tube(shaft: Shaft, rear: Real, length: Real) -> Part:
    tube = length - rear
    density = shaft.mass_per_length
    assert density is not None
    if shaft.stations is None:
        return Part("shaft", density * tube, rear, length)
    long = float(tube)
    mass, centre = profile_of(shaft.stations).mass_and_centre(long)
    return Part("shaft", density * mass, rear, length, centre - long / 2)


def reference_stiffnesses(arrows: Sequence[Arrow]) -> Column:
    """E I at a place of relative stiffness 1; of a uniform shaft, E I itself [N m^2].

    The static spine of a shaft with stations is that of the whole shaft which the stations
    describe, tested over the 28 in span with its middle at the middle of that shaft.

    Parameters
    ----------
    arrows : sequence of Arrow
        Arrows of single figures with static spine, all with stations and a length or none.

    Returns
    -------
    Column
        E I of each [N m^2].

    Raises
    ------
    FittingError
        Where a static spine is not given, or a shaft too short to be tested.

    References
    ----------
    .. [1] astm-f2031
    """
    spines = np.array([_spine_of(arrow) for arrow in arrows])
    profile = profile_of_each(arrows)
    if profile is None:
        return spines
    ends = profile.tested_between(np.array([float(tube_length(arrow)) for arrow in arrows]))
    flexibility = tested_flexibility(profile, *ends)
    if np.isnan(flexibility).any():
        raise FittingError(UNTESTABLE)
    return spines * flexibility


def static_spines(arrows: Sequence[Arrow], references: Column) -> list[float | None]:
    """Static spines of tubes as they now are, as E I [N m^2].

    A uniform shaft keeps its static spine however it is cut, since the span is fixed.

    Parameters
    ----------
    arrows : sequence of Arrow
        Arrows as for `reference_stiffnesses`.
    references : Column
        Their reference stiffnesses [N m^2].

    Returns
    -------
    list of float or None
        E I of the uniform shafts with the same deflection [N m^2]; None where a shaft with
        stations is now shorter than the span.

    References
    ----------
    .. [1] astm-f2031
    """
    profile = profile_of_each(arrows)
    if profile is None:
        return list(map(float, references))
    length = np.array([float(tube_length(arrow)) for arrow in arrows])
    found = references / tested_flexibility(profile, np.zeros(length.size), length)
    return [None if math.isnan(one) else one for one in found.tolist()]


def profile_of_each(arrows: Sequence[Arrow]) -> Profile | None:
    """Profile with a row for each arrow; None where they have no stations."""
    given = [one for one in map(_stations_of, arrows) if one is not None]
    return profiles_of(given) if given else None


def _stations_of(arrow: Arrow) -> tuple[Station, ...] | None:
    return shaft_of(arrow).stations


def _spine_of(arrow: Arrow) -> float:
    spine = shaft_of(arrow).static_spine
    if spine is None:
        raise FittingError(*stiffness_missing_from(arrow))
    return float(spine)


def cut(arrow: Arrow, length: Real, end: CutEnd = "front") -> Arrow:
    """Saw an arrow to a new arrow length.

    Parameters
    ----------
    arrow : Arrow
        Arrow with a length.
    length : Real
        New arrow length [m].
    end : {"front", "rear"}
        End of the shaft that is cut; fletching, wrap and nock are put back where they were
        from the nock.

    Returns
    -------
    Arrow
        The shorter arrow, without the mass and the balance point measured before.

    Raises
    ------
    FittingError
        Where the new length is above the present one, or nothing of the shaft is left.
    """
    before = length_of(arrow)
    if any_true(longer(length, before)):
        raise FittingError(
            Fault(path=("arrow", "length"), detail="A cut cannot make an arrow longer.")
        )
    if any_true(length <= projection_of(arrow)):
        raise FittingError(
            Fault(
                path=("arrow", "length"),
                detail="Nothing of the shaft is left. Choose a longer length.",
            )
        )
    shaft = arrow.shaft
    if shaft is not None and shaft.stations is not None:
        removed = float(before - length) if end == "rear" else 0.0
        kept = shift(shaft.stations, float(tube_length(arrow)), removed)
        shaft = dataclasses.replace(shaft, stations=kept)
    return dataclasses.replace(arrow, length=length, shaft=shaft, mass=None, balance_point=None)
