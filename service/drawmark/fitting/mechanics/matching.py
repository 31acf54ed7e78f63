"""The length and the point mass with which another shaft acts as a known arrow does.

Two measures are to be the same, first bending frequency and critical launch force, and two figures
can be chosen. A longer arrow acts weaker by both measures. At a given point the larger difference
is least where one measure is as much too stiff as the other is too weak, or at a bound. Along the
point masses it may have two least places, a light point on a long arrow and a heavy one on a short:
a table of both measures shows which is better, and the measures themselves then settle the figures.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.fitting.columns import Column
from drawmark.fitting.limits import RELATIVE_TOLERANCE
from drawmark.fitting.mechanics.comparison import Measure
from drawmark.fitting.rounding import round_down, round_up

ALIKE: Final = 1e-3
"""Share of the stiffness up to which two arrows act alike."""
_ROUNDS: Final = 3
_ROUNDS_OF_LENGTH: Final = 2
_ROUNDS_OF_POINT: Final = 5
"""More than of the length, on whose logarithm both measures depend almost evenly."""
_KNOTS: Final = 5
_TRIED: Final = 65
_NEAREST: Final = 2
"""Points of those that can be bought that are measured, the best by the table."""
_LEAST_WIDTH: Final = 0.05
"""Least width of a table, of the logarithm of the length."""
_STEPS: Final = np.array([[-0.01], [1e-4]])
"""Steps of the logarithm of the length and of the point mass [kg] by which slopes are found."""
_LEAST_LEARNED: Final = 1e-10
"""Square of the share of these steps below which a difference is mostly rounding."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Bounds:
    """Between what lengths and point masses are chosen.

    Parameters
    ----------
    shortest, longest : Column
        Ends of the lengths, by candidate [m].
    lightest, heaviest : float
        Ends of the point masses [kg].
    """

    shortest: Column
    longest: Column
    lightest: float
    heaviest: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Matched:
    """Candidates with a length and a point mass.

    Parameters
    ----------
    length : Column
        Arrow lengths [m].
    point_mass : Column
        Point masses [kg].
    stiffer : Column
        Logarithm of how much stiffer each acts, by frequency and by launch force; two rows.
    """

    length: Column
    point_mass: Column
    stiffer: Column

    @property
    def difference(self) -> Column:
        """The larger of the two differences, whichever its sign."""
        return np.asarray(np.abs(self.stiffer).max(axis=0))

    def better(self, other: Matched) -> Matched:
        """Take the candidates of another where they act more alike; the lighter point of equals."""
        mine = self.difference <= other.difference * (1 + RELATIVE_TOLERANCE)
        return Matched(
            length=np.where(mine, self.length, other.length),
            point_mass=np.where(mine, self.point_mass, other.point_mass),
            stiffer=np.where(mine, self.stiffer, other.stiffer),
        )


@dataclass(frozen=True, slots=True)
class _Table:
    """The differences at a few lengths and point masses, and what lies between.

    `lengths` are two rows of logarithms, `stiffer` is by point mass, length, measure and candidate.
    """

    bounds: Bounds
    lengths: Column
    stiffer: Column

    @classmethod
    def of(cls, measure: Measure, bounds: Bounds) -> _Table:
        """Measure at both lengths with each of the point masses."""
        far = np.log(bounds.longest)
        near = np.minimum(np.log(bounds.shortest), far - _LEAST_WIDTH)
        lengths = np.stack([near, far])
        masses = cls._knots(bounds)
        stiffer = [
            [measure(np.exp(each), np.full_like(each, mass)) for each in lengths] for mass in masses
        ]
        return cls(bounds, lengths, np.array(stiffer))

    @staticmethod
    def _knots(bounds: Bounds) -> Column:
        middle, half = (bounds.heaviest + bounds.lightest) / 2, bounds.heaviest - bounds.lightest
        return np.asarray(middle + half / 2 * np.cos(np.pi * (np.arange(_KNOTS) + 0.5) / _KNOTS))

    def along(self, masses: Column) -> tuple[Column, Column]:
        """Give the best lengths at rows of point masses, and the larger difference there."""
        shares = np.linalg.solve(
            self._powers(self._knots(self.bounds)), self._powers(masses).reshape(_KNOTS, -1)
        ).reshape(_KNOTS, *masses.shape)
        near, far = np.einsum("kmn,klcn->lmcn", shares, self.stiffer)
        slope = (far - near) / (self.lengths[1] - self.lengths[0])
        place = self.lengths[0] - near.sum(axis=1) / slope.sum(axis=1)
        place = np.clip(place, np.log(self.bounds.shortest), np.log(self.bounds.longest))
        found = near + slope * (place - self.lengths[0])[:, None]
        return place, np.abs(found).max(axis=1)

    def _powers(self, masses: Column) -> Column:
        width = self.bounds.heaviest - self.bounds.lightest
        scaled = 2 * (masses - self.bounds.lightest) / width - 1
        return np.stack([scaled**power for power in range(_KNOTS)])


@dataclass(frozen=True, slots=True)
class _Line:
    """The differences as they change along lengths and point masses, near one choice of each.

    Places are two rows, the logarithm of the length and the point mass; `slopes` is by measure,
    figure and candidate.
    """

    place: Column
    stiffer: Column
    slopes: Column

    def best(self, low: Column, high: Column) -> Column:
        """Give the place between the bounds where the larger difference is least."""
        (a, c), (b, d) = self.slopes
        by_frequency, by_force = self.stiffer
        determinant = a * d - b * c
        step = np.stack([c * by_force - d * by_frequency, b * by_frequency - a * by_force])
        with np.errstate(divide="ignore", invalid="ignore"):
            exact = self.place + step / determinant
        inside = np.isfinite(exact).all(axis=0) & ((exact >= low) & (exact <= high)).all(axis=0)
        found, least = np.clip(self.place, low, high), np.full(self.place.shape[1], np.inf)
        for figure in (0, 1):
            for bound in (low, high):
                edge = self.beside(figure, bound[figure], low, high)
                worst = np.abs(self.at(edge)).max(axis=0)
                found = np.where(worst < least, edge, found)
                least = np.minimum(worst, least)
        return np.where(inside, exact, found)

    def beside(self, fixed: int, value: Column, low: Column, high: Column) -> Column:
        """Give the place with one figure fixed where the two differences cancel, or a bound."""
        other = 1 - fixed
        place = self.place.copy()
        place[fixed] = value
        place[other] -= self.at(place).sum(axis=0) / self.slopes[:, other].sum(axis=0)
        place[other] = np.clip(place[other], low[other], high[other])
        return place

    def at(self, place: Column) -> Column:
        """Give the differences at another place."""
        return np.asarray(self.stiffer + (self.slopes * (place - self.place)).sum(axis=1))

    def moved(self, place: Column, stiffer: Column) -> _Line:
        """Learn from the differences found at another place."""
        step = (place - self.place) / _STEPS
        size = (step * step).sum(axis=0)
        missed = (stiffer - self.at(place)) / np.where(size > _LEAST_LEARNED, size, np.inf)
        slopes = self.slopes + missed[:, None] * (step / _STEPS)
        return _Line(place, stiffer, slopes)


class Matcher:
    """Chooses length and point mass of candidates that are alike in which fields they have.

    Parameters
    ----------
    measure : Measure
        Compares them with the known arrow.
    bounds : Bounds
        Between what to choose.
    """

    def __init__(self, measure: Measure, bounds: Bounds) -> None:
        self._measure, self._bounds = measure, bounds
        self._low, self._high = (
            np.stack([np.log(length), np.full_like(length, mass)])
            for length, mass in (
                (bounds.shortest, bounds.lightest),
                (bounds.longest, bounds.heaviest),
            )
        )
        self._table = _Table.of(measure, bounds)
        self._line = self._solve()

    def _solve(self) -> _Line:
        masses = np.linspace(self._bounds.lightest, self._bounds.heaviest, _TRIED)
        every = np.broadcast_to(masses[:, None], (_TRIED, len(self._bounds.shortest)))
        place, difference = self._table.along(every)
        best = difference.argmin(axis=0)
        at, room = np.arange(best.size), 2 * (masses[1] - masses[0])
        start = np.stack([place[best, at], masses[best]])
        low, high = self._low.copy(), self._high.copy()
        low[1], high[1] = np.maximum(low[1], start[1] - room), np.minimum(high[1], start[1] + room)
        line = self._line_at(start)
        for _ in range(_ROUNDS):
            line = self._step(line, line.best(low, high))
        return line

    def _line_at(self, place: Column) -> _Line:
        here = self._at(place)
        slopes = np.empty((2, 2, place.shape[1]))
        for figure in (0, 1):
            step = np.zeros_like(place)
            step[figure] = _STEPS[figure]
            slopes[:, figure] = (self._at(place + step) - here) / _STEPS[figure]
        return _Line(place, here, slopes)

    def _step(self, line: _Line, place: Column) -> _Line:
        return line.moved(place, self._at(place))

    def _at(self, place: Column) -> Column:
        return self._measure(np.exp(place[0]), place[1])

    @property
    def best(self) -> Matched:
        """The best between the bounds, on no saw's scale and with any point."""
        return self._matched(self._line)

    def with_any_point(self, increment: float | None) -> Matched:
        """Give the best with lengths rounded up to the saw's increment [m]."""
        length = self._rounded(np.exp(self._line.place[0]), increment)
        line = self._line
        for _ in range(_ROUNDS_OF_POINT):
            line = self._step(line, line.beside(0, np.log(length), self._low, self._high))
        return dataclasses.replace(self._matched(line), length=length)

    def with_points(self, points: Column, increment: float | None) -> Matched:
        """Give the best with one of the points that can be bought, a column for each candidate."""
        nearest = np.argsort(self._table.along(points)[1], axis=0, kind="stable")[:_NEAREST]
        found: Matched | None = None
        for mass in np.take_along_axis(points, nearest, axis=0):
            line = self._line
            for _ in range(_ROUNDS_OF_LENGTH):
                line = self._step(line, line.beside(1, mass, self._low, self._high))
            length = self._rounded(np.exp(line.place[0]), increment)
            made = Matched(length=length, point_mass=mass, stiffer=self._measure(length, mass))
            found = made if found is None else found.better(made)
        assert found is not None
        return found

    def _rounded(self, length: Column, increment: float | None) -> Column:
        """Round up to the saw, unless that leaves the bounds: then take the last mark in them."""
        last = round_down(self._bounds.longest, increment)
        return np.asarray(np.minimum(round_up(length, increment), last))

    @staticmethod
    def _matched(line: _Line) -> Matched:
        return Matched(length=np.exp(line.place[0]), point_mass=line.place[1], stiffer=line.stiffer)
