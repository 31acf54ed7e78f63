"""Shafts that could replace known ones: made into arrows, and each given a length and a point."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.answers.club.members import LONGEST_ID
from drawmark.deadline import deadline
from drawmark.fitting import fields, limits
from drawmark.fitting.columns import Column
from drawmark.fitting.cutting.bare_shaft import shortest_cut
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.arrow_validation import (
    faults_of,
    has_stations,
    length_of,
    projection_of,
    shaft_of,
)
from drawmark.fitting.mechanics.comparison import MOST_TAPERED, measure_of
from drawmark.fitting.mechanics.matching import ALIKE, Bounds, Matcher
from drawmark.fitting.mechanics.point_mass import with_point_mass
from drawmark.fitting.model import Arrow, Insert, Nock, Shaft
from drawmark.fitting.rounding import round_down, round_up
from drawmark.rules.column_trees import group_alike, stack_alike

MOST_CANDIDATES: Final = 500
_LONGEST: Final = fields.quantity_of(Arrow, "length").high
_NO_LENGTH: Final = "No length is both allowed here and within what the shaft gives."
_NO_MARK: Final = "No multiple of `saw_increment` is a length that is allowed here."
_NO_POINT: Final = (
    "Every available point is less than half or more than twice as heavy as the present one."
)
_TOO_SHORT: Final = "It would have to be shorter than the shortest length allowed here."
_TOO_LONG: Final = "It would have to be longer than the longest length allowed here."
_TOO_LIGHT: Final = "It would take a point less than half as heavy as the present one."
_TOO_HEAVY: Final = "It would take a point more than twice as heavy as the present one."
_NEVER: Final = "No length and point mass give both measures at once."


@dataclass(frozen=True, kw_only=True, slots=True)
class CandidateShaft:
    """A shaft that could replace the present one."""

    id: str | None = fields.text(
        LONGEST_ID, "Name of this shaft in the answer. Use each name once.", default=None
    )
    shaft: Shaft = fields.part(Shaft, "The shaft.")
    insert: Insert | None = fields.part(
        Insert, "Its insert. If left out, the present one is used.", default=None
    )
    nock: Nock | None = fields.part(
        Nock, "Its nock. If left out, the present one is used.", default=None
    )
    stock_length: float | None = fields.length(
        0.30, 1.30, "Length of the shaft as it is delivered, without a nock.", default=None
    )
    available_points: tuple[float, ...] | None = fields.quantity(
        "mass",
        0.0,
        0.04,
        "Point masses that can be bought for it. If left out, those of the request.",
        default=None,
        fewest=1,
        most=50,
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Choice:
    """What may be chosen from.

    Parameters
    ----------
    shortest, longest : float
        Arrow lengths [m]; empty where shortest is beyond longest.
    increment : float or None
        Saw's increment [m].
    points : tuple of float or None
        Point masses that can be bought [kg]; None for any.
    """

    shortest: float
    longest: float
    increment: float | None
    points: tuple[float, ...] | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Made:
    """One candidate as an arrow.

    Parameters
    ----------
    arrow : Arrow or None
        With the length and the point chosen; None where there is none.
    stiffer : tuple of float
        Logarithm of how much stiffer it acts than the known arrow, by frequency and by force.
    unchanged : tuple of float or None
        The same at the length and with the point of the known arrow; None where it is too short.
    exact : tuple of float or None
        Length [m] and point mass [kg] that give both measures; None where none do.
    reason : str
        Why there is no arrow, or no exact choice; empty where both are there.
    """

    arrow: Arrow | None = None
    stiffer: tuple[float, float] = (math.nan, math.nan)
    unchanged: tuple[float, float] | None = None
    exact: tuple[float, float] | None = None
    reason: str = ""

    @property
    def difference(self) -> float:
        """The larger of the two differences; infinite without an arrow."""
        return math.inf if self.arrow is None else max(map(abs, self.stiffer))


@dataclass(frozen=True, slots=True)
class _Blank:
    """A candidate at its greatest length, and what may be chosen for it."""

    arrow: Arrow
    shortest: float
    longest: float
    points: tuple[float, ...] | None


def make_all(known: Arrow, shafts: Sequence[CandidateShaft], choice: Choice) -> list[Made]:
    """Choose length and point of every candidate, alike ones together."""
    if sum(one.shaft.stations is not None for one in shafts) > MOST_TAPERED:
        detail = f"At most {MOST_TAPERED} shafts with stations are compared at once. Send fewer."
        raise FittingError(Fault(path=("candidates",), detail=detail))
    blanks = [_blank(known, at, one, choice) for at, one in enumerate(shafts)]
    made = [Made()] * len(blanks)
    for places in group_alike([(_form(one.arrow), one.points is None) for one in blanks]):
        deadline.check()
        group = [blanks[at] for at in places]
        for at, one in zip(places, _make_group(known, group, choice), strict=True):
            made[at] = one
    return made


def _blank(known: Arrow, at: int, one: CandidateShaft, choice: Choice) -> _Blank:
    arrow = dataclasses.replace(
        known, shaft=one.shaft, insert=one.insert or known.insert, nock=one.nock or known.nock
    )
    rear = float(projection_of(arrow))
    stations = one.shaft.stations
    longest = _LONGEST if stations is None else min(_LONGEST, float(stations[-1].position) + rear)
    if one.stock_length is not None:
        longest = min(_LONGEST, one.stock_length + rear)
    arrow = dataclasses.replace(arrow, length=longest)
    if faults := faults_of(arrow):
        raise FittingError(
            *(dataclasses.replace(each, path=("candidates", at, *each.path[1:])) for each in faults)
        )
    return _Blank(
        arrow=arrow,
        shortest=max(choice.shortest, shortest_cut(arrow)),
        longest=min(choice.longest, longest),
        points=choice.points if one.available_points is None else one.available_points,
    )


def _form(arrow: Arrow) -> tuple[Shaft, Insert | None, Nock | None]:
    """Give what differs between candidates; material and diameter change nothing here."""
    shaft = shaft_of(arrow)
    plain = Shaft(
        static_spine=shaft.static_spine,
        mass_per_length=shaft.mass_per_length,
        stations=shaft.stations,
    )
    return plain, arrow.insert, arrow.nock


def _column_of(known: Arrow, arrows: Sequence[Arrow]) -> Arrow:
    shaft, insert, nock = stack_alike(list(map(_form, arrows)))
    return dataclasses.replace(known, shaft=shaft, insert=insert, nock=nock)


def _make_group(known: Arrow, group: Sequence[_Blank], choice: Choice) -> list[Made]:
    """Make candidates that are alike in which fields they have."""
    assert known.point is not None
    present, length = float(known.point.mass or 0.0), float(length_of(known))
    arrows = [one.arrow for one in group]
    tapered = has_stations(arrows[0])
    greatest = np.array([float(length_of(one)) for one in arrows])
    measure = measure_of(known, arrows if tapered else _column_of(known, arrows))
    size = len(group)
    unchanged = measure(np.minimum(greatest, length), np.full(size, present)).T.tolist()
    ratio = limits.LARGEST_POINT_CHANGE
    lightest, heaviest = present / ratio, present * ratio
    reasons = [_refusal(one, choice.increment, lightest, heaviest) for one in group]
    barred = np.array([reason is not None for reason in reasons])
    # Those without a choice are computed at their greatest length, and left out.
    bounds = Bounds(
        shortest=np.where(barred, greatest, [one.shortest for one in group]),
        longest=np.where(barred, greatest, [one.longest for one in group]),
        lightest=lightest,
        heaviest=heaviest,
    )
    matcher = Matcher(measure, bounds)
    best = matcher.best
    if group[0].points is None:
        made = matcher.with_any_point(choice.increment)
    else:
        points = [_within(one.points, lightest, heaviest) or (present,) for one in group]
        made = matcher.with_points(_padded(points), choice.increment)
    exact = (best.difference <= ALIKE).tolist()
    lengths, masses = best.length.tolist(), best.point_mass.tolist()
    found = zip(
        made.length.tolist(), made.point_mass.tolist(), made.stiffer.T.tolist(), strict=True
    )
    return [
        Made(
            arrow=None if reason else _arrow_of(one.arrow, chosen, mass),
            stiffer=tuple(stiffer),
            unchanged=None if limits.shorter(greatest[at], length) else tuple(unchanged[at]),
            exact=(lengths[at], masses[at]) if exact[at] and not reason else None,
            reason=reason or ("" if exact[at] else _missed(lengths[at], masses[at], bounds, at)),
        )
        for at, (one, reason, (chosen, mass, stiffer)) in enumerate(
            zip(group, reasons, found, strict=True)
        )
    ]


def _refusal(one: _Blank, increment: float | None, lightest: float, heaviest: float) -> str | None:
    if limits.longer(one.shortest, one.longest):
        return _NO_LENGTH
    if limits.longer(round_up(one.shortest, increment), round_down(one.longest, increment)):
        return _NO_MARK
    if one.points is not None and not _within(one.points, lightest, heaviest):
        return _NO_POINT
    return None


def _within(
    points: tuple[float, ...] | None, lightest: float, heaviest: float
) -> tuple[float, ...]:
    return tuple(
        sorted(
            {
                mass
                for mass in points or ()
                if not limits.less(mass, lightest) and not limits.more(mass, heaviest)
            }
        )
    )


def _padded(points: Sequence[tuple[float, ...]]) -> Column:
    """Give a column of points for each candidate, the last repeated."""
    most = max(map(len, points))
    return np.array([(*each, *each[-1:] * (most - len(each))) for each in points]).T


def _arrow_of(arrow: Arrow, length: float, point_mass: float) -> Arrow:
    return with_point_mass(cut(arrow, min(length, float(length_of(arrow)))), point_mass)


def _missed(length: float, point_mass: float, bounds: Bounds, at: int) -> str:
    """Say which bound keeps a candidate from both measures."""
    if not limits.more(point_mass, bounds.lightest):
        return _TOO_LIGHT
    if not limits.less(point_mass, bounds.heaviest):
        return _TOO_HEAVY
    if not limits.longer(length, bounds.shortest[at]):
        return _TOO_SHORT
    return _NEVER if limits.shorter(length, bounds.longest[at]) else _TOO_LONG
