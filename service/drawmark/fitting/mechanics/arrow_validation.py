"""What an arrow's description leaves out, and what in it contradicts itself."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from functools import reduce

from drawmark.fitting.columns import Real, Truth, any_true, maximum, minimum, negate
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.limits import longer, shorter
from drawmark.fitting.model import Arrow, Shaft
from drawmark.fitting.units import ASTM_SPAN


@dataclass(frozen=True, slots=True)
class Assumption:
    """A default taken where a field was not given.

    Parameters
    ----------
    path : tuple of str
        Way to the field, from the top of the fitting.
    text : str
        What is assumed in its place.
    """

    path: tuple[str, ...]
    text: str


def _fault(path: tuple[str | int, ...], detail: str, when: Truth = True) -> Fault:
    return Fault(path=path, detail=detail, when=when)


def _needed(*path: str) -> Fault:
    return _fault(("arrow", *path), "This is needed here.")


FLETCHING_PLACE = _fault(("arrow", "fletching"), "A mass needs rear_edge and length beside it.")
UNTESTABLE = _fault(
    ("arrow", "shaft", "stations"),
    "The stations describe a shaft shorter than the 28 in span of the static spine test. "
    "Describe the shaft as it was tested, before it was cut at the front.",
)


def assumptions_of(arrow: Arrow) -> tuple[Assumption, ...]:
    """List every default taken for mass, balance and stiffness.

    Parameters
    ----------
    arrow : Arrow
        Arrow as given.

    Returns
    -------
    tuple of Assumption
        One for each field left out.
    """
    return tuple(_assumptions(arrow))


def _assumptions(arrow: Arrow) -> Iterator[Assumption]:
    point, insert, nock, fletching = arrow.point, arrow.insert, arrow.nock, arrow.fletching
    if point is not None and point.centre is None:
        yield Assumption(
            ("arrow", "point", "centre"), "The point's mass acts at the front end of the shaft."
        )
    if insert is None:
        yield Assumption(
            ("arrow", "insert"), "There is no insert, or the point's mass includes it."
        )
    elif insert.length is None:
        yield Assumption(
            ("arrow", "insert", "length"), "The insert's mass acts at the front end of the shaft."
        )
    if nock is None or nock.mass is None:
        yield Assumption(("arrow", "nock", "mass"), "The nock has no mass.")
    if nock is None or nock.projection is None:
        yield Assumption(
            ("arrow", "nock", "projection"), "The shaft begins at the bottom of the nock slot."
        )
    if fletching is None or fletching.mass is None:
        yield Assumption(("arrow", "fletching", "mass"), "The vanes have no mass.")
    if arrow.wrap is None:
        yield Assumption(("arrow", "wrap"), "There is no wrap.")
    if arrow.shaft is not None and arrow.shaft.stations is None:
        yield Assumption(("arrow", "shaft", "stations"), "The shaft is the same along its length.")


def faults_of(arrow: Arrow) -> list[Fault]:
    """List fields of an arrow that contradict each other.

    Parameters
    ----------
    arrow : Arrow
        Arrow, each figure within its own range.

    Returns
    -------
    list of Fault
        Empty where the arrow, or each of a column, can be built; paths start with ``arrow``.
    """
    length = arrow.length
    faults = [*_fletching_faults(arrow, length), *_point_faults(arrow)]
    if arrow.shaft is not None and arrow.shaft.stations is not None:
        faults.extend(_station_faults(arrow.shaft, length, projection_of(arrow)))
    if length is not None:
        faults.extend(_length_faults(arrow, length))
    return faults


def _fletching_faults(arrow: Arrow, length: Real | None) -> Iterator[Fault]:
    fletching = arrow.fletching
    if fletching is None:
        return
    for name, value in (("rear_edge", fletching.rear_edge), ("length", fletching.length)):
        if value is None and fletching.mass is not None:
            yield _fault(
                ("arrow", "fletching", name), "This is needed beside the mass of the fletching."
            )
    if fletching.rear_edge is None:
        return
    rear = fletching.rear_edge
    if any_true(behind := shorter(rear, projection_of(arrow))):
        yield _fault(
            ("arrow", "fletching", "rear_edge"),
            "The vanes begin behind the shaft's rear end. Measure from the nock slot.",
            behind,
        )
    vane = 0.0 if fletching.length is None else fletching.length
    if length is not None and any_true(past := longer(rear + vane, length)):
        yield _fault(
            ("arrow", "fletching"),
            "The vanes reach past the shaft's front end. Check rear_edge and length.",
            past,
        )


def _point_faults(arrow: Arrow) -> Iterator[Fault]:
    point = arrow.point
    if point is None or point.centre is None:
        return
    centre, path = point.centre, ("arrow", "point", "centre")
    exposed = point.exposed_length
    if exposed is not None and any_true(ahead := longer(centre, exposed)):
        yield _fault(
            path, "This lies ahead of the point's tip: it may be at most exposed_length.", ahead
        )
    if point.shank_length is not None:
        collar = 0.0 if point.sleeve_length is None else point.sleeve_length
        if any_true(behind := shorter(centre, 0.0 - maximum(point.shank_length, collar))):
            detail = "This lies behind the point's rear end: check shank_length and sleeve_length."
            yield _fault(path, detail, behind)


def _length_faults(arrow: Arrow, length: Real) -> Iterator[Fault]:
    tube = length - projection_of(arrow)
    if any_true(none := tube <= 0):
        yield _fault(
            ("arrow", "nock", "projection"),
            "This leaves no shaft in the arrow length. Check both.",
            none,
        )
        return
    for path, value in lengths_along_tube(arrow):
        if value is not None and any_true(beyond := longer(value, tube)):
            yield _fault(
                ("arrow", *path),
                "This is longer than the shaft. Check it and the arrow length.",
                beyond,
            )
    centre = None if arrow.point is None else arrow.point.centre
    if centre is not None and any_true(behind := shorter(centre, 0.0 - tube)):
        yield _fault(("arrow", "point", "centre"), "This lies behind the shaft's rear end.", behind)
    balance = arrow.balance_point
    if balance is not None and any_true(ahead := longer(balance, length)):
        yield _fault(
            ("arrow", "balance_point"),
            "This lies ahead of the shaft's front end. Check it and the arrow length.",
            ahead,
        )


def lengths_along_tube(arrow: Arrow) -> tuple[tuple[tuple[str, str], Real | None], ...]:
    """Lengths that must find room along the tube, by their path from the arrow [m]."""
    point, insert, wrap = arrow.point, arrow.insert, arrow.wrap
    return (
        (("point", "shank_length"), None if point is None else point.shank_length),
        (("point", "sleeve_length"), None if point is None else point.sleeve_length),
        (("insert", "length"), None if insert is None else insert.length),
        (("wrap", "length"), None if wrap is None else wrap.length),
    )


def _station_faults(shaft: Shaft, length: Real | None, projection: Real) -> Iterator[Fault]:
    assert shaft.stations is not None
    places = [station.position for station in shaft.stations]
    for index, (before, after) in enumerate(itertools.pairwise(places), start=1):
        if any_true(behind := negate(longer(after, before))):
            yield _fault(
                ("arrow", "shaft", "stations", index, "position"),
                "Stations run forward from the shaft's rear end, each ahead of the one before.",
                behind,
            )
    if length is None or shaft.static_spine is None:
        return
    last, first = reduce(maximum, [length - projection, *places]), reduce(minimum, [0.0, *places])
    if any_true(untestable := shorter(last - first, ASTM_SPAN)):
        yield dataclasses.replace(UNTESTABLE, when=untestable)


def missing_from(arrow: Arrow) -> tuple[Fault, ...]:
    """Fields without which mass and balance cannot be computed."""
    shaft, point = arrow.shaft, arrow.point
    faults = []
    if arrow.length is None:
        faults.append(_needed("length"))
    if shaft is None or shaft.mass_per_length is None:
        faults.append(_needed("shaft", "mass_per_length"))
    if point is None or point.mass is None:
        faults.append(
            _fault(("arrow", "point", "mass"), "This is needed here. Give 0 if there is no point.")
        )
    return tuple(faults)


def stiffness_missing_from(arrow: Arrow) -> tuple[Fault, ...]:
    """Fields without which stiffness, frequency and launch force cannot be computed."""
    faults = missing_from(arrow)
    if arrow.shaft is None or arrow.shaft.static_spine is None:
        faults = (*faults, _needed("shaft", "static_spine"))
    return faults


def length_of(arrow: Arrow) -> Real:
    """Arrow length [m]; FittingError where it is not given."""
    if arrow.length is None:
        raise FittingError(_needed("length"))
    return arrow.length


def shaft_of(arrow: Arrow) -> Shaft:
    """The shaft; FittingError where it is not given."""
    if arrow.shaft is None:
        raise FittingError(_needed("shaft"))
    return arrow.shaft


def has_stations(arrow: Arrow) -> bool:
    """Whether the shaft is described by stations."""
    return arrow.shaft is not None and arrow.shaft.stations is not None


def projection_of(arrow: Arrow) -> Real:
    """Bottom of the nock slot to the shaft's rear end, 0 where it is not given [m]."""
    nock = arrow.nock
    return 0.0 if nock is None or nock.projection is None else nock.projection


def verify(arrow: Arrow) -> None:
    """Raise FittingError, with every fault, for an arrow whose stiffness cannot be computed."""
    faults = (*stiffness_missing_from(arrow), *faults_of(arrow))
    if faults:
        raise FittingError(*faults)
