"""A stack of tubes with their masses, divided into elements."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.deadline import deadline
from drawmark.fitting.columns import Column
from drawmark.fitting.faults import FittingError
from drawmark.fitting.limits import TOLERANCE
from drawmark.fitting.mechanics.arrow_parts import carried_parts
from drawmark.fitting.mechanics.arrow_validation import (
    UNTESTABLE,
    length_of,
    projection_of,
    stiffness_missing_from,
)
from drawmark.fitting.mechanics.moments import ORDERS
from drawmark.fitting.mechanics.stations import profiles_of, tested_flexibility
from drawmark.fitting.mechanics.tapered import edges_of, elements_of, shape_of
from drawmark.fitting.model import Arrow, Station

UNIFORM_ELEMENTS: Final = 12
_MOST_TUBES: Final = 64
"""Tubes solved together: their elements stay in the processor's own memory."""
_UNIFORM: Final = np.array([1.0, 0.0, 3.0])


@dataclass(frozen=True, kw_only=True, slots=True)
class Tubes:
    """A stack of tubes; places run from the rear end of each.

    Parameters
    ----------
    edges : Column
        Ends of the elements, by tube [m].
    width : Column
        Length of each element, by tube; of a uniform tube one stands for all [m].
    bending : Column
        Stiffness by tube and element, or for all of them: against even bending, the coupling,
        and against bending to one side and back [N m].
    moments : Column
        Sums of m z^p over the shaft's own mass, by tube, element or for all of them, and p, z
        being the place within the element from 0 to 1 [kg].
    spans : Column
        Masses spread evenly, by tube: mass [kg], start and end [m].
    lumps : Column
        Masses at one place, by tube: mass [kg] and place [m], beyond the ends on a rigid arm.
    nock : Column
        Rigid piece behind each tube, at whose rear end it is pushed and pinned [m].
    """

    edges: Column
    width: Column
    bending: Column
    moments: Column
    spans: Column
    lumps: Column
    nock: Column

    @property
    def length(self) -> Column:
        """Length of each tube [m]."""
        return self.edges[:, -1]

    @property
    def elements(self) -> int:
        """Elements to a tube."""
        return int(self.edges.shape[1]) - 1

    @property
    def mass(self) -> Column:
        """Mass of each tube with all it carries [kg]."""
        carried = self.spans[..., 0].sum(axis=1) + self.lumps[..., 0].sum(axis=1)
        own = self.moments[..., 0].mean(axis=1) * self.elements
        return np.asarray(own + carried)

    @property
    def stiffness(self) -> Column:
        """E I of uniform tubes that bend as far under an even moment [N m^2]."""
        return np.asarray(self.length / (1 / self.bending[..., 0]).mean(axis=1) / self.elements)


def stack(
    length: Sequence[float] | Column,
    stiffness: Sequence[float] | Column,
    density: Sequence[float] | Column,
    *,
    spans: Sequence[Sequence[Sequence[float]]] = (),
    lumps: Sequence[Sequence[Sequence[float]]] = (),
    nock: Sequence[float] | None = None,
    elements: int = UNIFORM_ELEMENTS,
) -> Tubes:
    """Stack uniform tubes.

    Parameters
    ----------
    length : sequence of float
        Length of each [m].
    stiffness : sequence of float
        E I of each [N m^2].
    density : sequence of float
        Mass per length of each [kg/m].
    spans, lumps : sequence
        What each carries, as in Tubes; as many for each.
    nock : sequence of float, optional
        Rigid piece behind each; none by default [m].
    elements : int
        Elements to a tube.

    Returns
    -------
    Tubes
        The stack.
    """
    count = len(length)
    ends = np.array(length, dtype=float)[:, None]
    width = ends / elements
    mass = np.array(density, dtype=float)[:, None] * width
    even = np.array(stiffness, dtype=float)[:, None] / width
    return Tubes(
        edges=ends * (np.arange(elements + 1) / elements),
        width=width,
        bending=even[..., None] * _UNIFORM,
        moments=mass[..., None] / ORDERS,
        spans=np.array(spans, dtype=float).reshape(count, -1, 3),
        lumps=np.array(lumps, dtype=float).reshape(count, -1, 2),
        nock=np.zeros(count) if nock is None else np.array(nock, dtype=float),
    )


def tubes_of(arrows: Sequence[Arrow], elements: int | None = None) -> Tubes:
    """Stack the tubes of arrows of single figures.

    Parameters
    ----------
    arrows : sequence of Arrow
        Arrows with length, static spine, mass per length and point mass.
    elements : int, optional
        Elements to a tube; by default 12, or as many as stations ask for.

    Returns
    -------
    Tubes
        The stack, in order.

    Raises
    ------
    FittingError
        Where one of the four is not given, or a shaft with stations cannot be tested.
    """
    carried = [_carried(arrow) for arrow in arrows]
    tapered = {at: given for at, given in enumerate(map(_stations, arrows)) if given}
    places = {at: [float(one.position) for one in given] for at, given in tapered.items()}
    if elements is None:
        elements = max(map(_elements_for, arrows))
    most_spans = max(len(spans) for _, spans, _ in carried)
    most_lumps = max(len(lumps) for _, _, lumps in carried)
    tubes = stack(
        [length for length, _, _ in carried],
        list(map(_spine, arrows)),
        list(map(_density, arrows)),
        spans=[spans + [(0.0, 0.0, 1.0)] * (most_spans - len(spans)) for _, spans, _ in carried],
        lumps=[lumps + [(0.0, 0.0)] * (most_lumps - len(lumps)) for _, _, lumps in carried],
        nock=[float(projection_of(arrow)) for arrow in arrows],
        elements=elements,
    )
    if not tapered:
        return tubes
    which, profile = list(tapered), profiles_of(list(tapered.values()))
    flexibility = tested_flexibility(profile, *profile.tested_between(tubes.length[which]))
    if np.isnan(flexibility).any():
        raise FittingError(UNTESTABLE)
    edges = tubes.edges
    bending, moments = (
        np.repeat(each, elements, axis=1) for each in (tubes.bending, tubes.moments)
    )
    edges[which] = [edges_of(place, carried[at][0], elements) for at, place in places.items()]
    bent, weighed = shape_of(profile, edges[which])
    stiffness = np.array([_spine(arrows[at]) for at in which]) * flexibility
    density = np.array([_density(arrows[at]) for at in which])
    bending[which] = stiffness[:, None, None] * bent
    moments[which] = density[:, None, None] * weighed
    width = np.diff(edges, axis=1)
    return dataclasses.replace(tubes, edges=edges, width=width, bending=bending, moments=moments)


def carrying_points(tube: Tubes, masses: Sequence[float]) -> Tubes:
    """Stack one tube with other points, the point being its first lump.

    Parameters
    ----------
    tube : Tubes
        Tube of one arrow.
    masses : sequence of float
        Point masses [kg].

    Returns
    -------
    Tubes
        The tube with each of them.
    """
    figures = {
        name: np.repeat(getattr(tube, name), len(masses), axis=0) for name in Tubes.__slots__
    }
    figures["lumps"][:, 0, 0] = masses
    return Tubes(**figures)


def stacks_of(arrows: Sequence[Arrow]) -> Iterator[tuple[list[int], Tubes]]:
    """Stack arrows with as many elements as each has alone, and give their places.

    So an arrow's figures do not depend on the others.

    Parameters
    ----------
    arrows : sequence of Arrow
        As for `tubes_of`.

    Yields
    ------
    tuple of list of int and Tubes
        Places in the sequence, and their tubes.
    """
    groups: dict[int, list[int]] = {}
    for at, arrow in enumerate(arrows):
        deadline.check()
        groups.setdefault(_elements_for(arrow), []).append(at)
    for places in groups.values():
        for begin in range(0, len(places), _MOST_TUBES):
            deadline.check()
            part = places[begin : begin + _MOST_TUBES]
            yield part, tubes_of([arrows[at] for at in part])


def _elements_for(arrow: Arrow) -> int:
    """Count the elements of an arrow's tube: 12, or as many as stations ask for."""
    given = _stations(arrow)
    if given is None:
        return UNIFORM_ELEMENTS
    length = float(length_of(arrow)) - float(projection_of(arrow))
    return elements_of([float(one.position) for one in given], length)


def _stations(arrow: Arrow) -> tuple[Station, ...] | None:
    return None if arrow.shaft is None else arrow.shaft.stations


def _spine(arrow: Arrow) -> float:
    spine = None if arrow.shaft is None else arrow.shaft.static_spine
    if spine is None:
        raise FittingError(*stiffness_missing_from(arrow))
    return float(spine)


def _density(arrow: Arrow) -> float:
    assert arrow.shaft is not None
    assert arrow.shaft.mass_per_length is not None
    return float(arrow.shaft.mass_per_length)


def _carried(
    arrow: Arrow,
) -> tuple[float, list[tuple[float, float, float]], list[tuple[float, float]]]:
    rear = float(projection_of(arrow))
    spans, lumps = [], []
    for part in carried_parts(arrow):
        start, end = float(part.start) - rear, float(part.end) - rear
        if end - start > TOLERANCE:
            spans.append((float(part.mass), start, end))
        else:
            lumps.append((float(part.mass), (start + end) / 2))
    return float(length_of(arrow)) - rear, spans, lumps
