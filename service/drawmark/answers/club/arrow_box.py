"""A box of measured arrows: which figures count, and by what tolerances arrows are alike."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, get_args

import numpy as np

from drawmark.answers.club.measured_arrows import KINDS, MeasuredArrow, same_field
from drawmark.answers.club.members import LONGEST_ID
from drawmark.fitting import fields, limits
from drawmark.fitting.columns import Column, Whole
from drawmark.fitting.model import Point
from drawmark.rules.model import MeasureKind

Sorting = Literal["length", "mass", "balance_point", "static_spine", "point_mass"]
SORTING: Final[tuple[Sorting, ...]] = get_args(Sorting)
SORTING_KINDS: Final[dict[Sorting, MeasureKind]] = {
    "length": KINDS["length"],
    "mass": KINDS["mass"],
    "balance_point": KINDS["balance_point"],
    "static_spine": KINDS["static_spine"],
    "point_mass": "mass",
}
_USUAL: Final[dict[Sorting, tuple[float, str]]] = {
    "length": (limits.USUAL_LENGTH_RANGE, "set-tolerance"),
    "mass": (limits.USUAL_MASS_RANGE, "set-tolerance"),
    "balance_point": (limits.MOST_LIKE_BALANCE, "project-consistency"),
    "static_spine": (limits.MOST_LIKE_SPINE, "project-consistency"),
    "point_mass": (limits.POINT_DISAGREEMENT, "project-tolerance"),
}
"""Tolerances where none is stated [SI]; of the static spine a share of the weakest; and sources."""


@dataclass(frozen=True, kw_only=True, slots=True)
class BoxArrow(MeasuredArrow):
    """One arrow of the box, as far as it was measured."""

    point_mass: float | None = same_field(Point, "mass")
    kind: str = fields.text(
        LONGEST_ID,
        "What arrow it is, as the club names it: shaft, vanes, nock. Arrows of two kinds never "
        "make a set.",
        default="",
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Tolerances:
    """How far the figures of one set may lie apart, greatest less least."""

    length: float | None = fields.length(
        0.0001, 0.1, "Of lengths. If left out, 1/16 in, which is usual.", default=None
    )
    mass: float | None = fields.mass(
        0.00001, 0.01, "Of masses. If left out, 5 gr, which is usual.", default=None
    )
    balance_point: float | None = fields.length(
        0.0001, 0.1, "Of balance points. If left out, 10 mm.", default=None
    )
    static_spine_percent: float | None = fields.number(
        0.1,
        50.0,
        "Of stiffnesses, in per cent of the weakest. If left out, 10 %.",
        default=None,
    )
    point_mass: float | None = fields.mass(
        0.00001, 0.01, "Of point masses. If left out, 2 gr.", default=None
    )


class Box:
    """The arrows, with the figures that count.

    Length always counts; another figure if a tolerance is stated for it, or if any arrow has it.
    An arrow that lacks one of them is not placed.

    Parameters
    ----------
    arrows : sequence of BoxArrow
        The arrows.
    stated : Tolerances
        Tolerances as far as they were stated.
    """

    def __init__(self, arrows: Sequence[BoxArrow], stated: Tolerances) -> None:
        self.arrows = arrows
        self._stated: dict[Sorting, float | None] = {
            "length": stated.length,
            "mass": stated.mass,
            "balance_point": stated.balance_point,
            "static_spine": None
            if stated.static_spine_percent is None
            else stated.static_spine_percent / 100,
            "point_mass": stated.point_mass,
        }
        self.names = [name for name in SORTING if self._counts(name)]
        self.unplaced = [at for at in range(len(arrows)) if self.missing(at)]
        self.tolerances = np.array([self._least_difference(name) for name in self.names])
        self.figures = np.array(
            [[self._figure(name, at) for name in self.names] for at in range(len(arrows))]
        )

    def _counts(self, name: Sorting) -> bool:
        given = any(getattr(one, name) is not None for one in self.arrows)
        return given or name == "length" or self._stated[name] is not None

    def missing(self, at: int) -> list[Sorting]:
        """List the figures that count and that an arrow lacks."""
        return [name for name in self.names if getattr(self.arrows[at], name) is None]

    def tolerance_of(self, name: Sorting) -> tuple[float, str]:
        """Give the tolerance of a figure [SI], of stiffness a share, and its source."""
        stated = self._stated[name]
        return _USUAL[name] if stated is None else (stated, "request")

    def _least_difference(self, name: Sorting) -> float:
        """Give how far figures may lie apart, with what counts as equal."""
        tolerance, _ = self.tolerance_of(name)
        if name in ("length", "balance_point"):
            return tolerance + limits.TOLERANCE
        tolerance *= 1 + limits.RELATIVE_TOLERANCE
        return math.log1p(tolerance) if name == "static_spine" else tolerance

    def _figure(self, name: Sorting, at: int) -> float:
        value = getattr(self.arrows[at], name)
        if value is None:
            return math.nan
        return math.log(value) if name == "static_spine" else float(value)

    @staticmethod
    def told(name: Sorting, figure: float) -> float:
        """Give a figure as it is told [SI]: stiffness is sorted by its logarithm."""
        return math.exp(figure) if name == "static_spine" else float(figure)

    def to_sort(self) -> tuple[Whole, Column, Column]:
        """Give the arrows that can be placed, their figures, and the tolerances.

        The kind is the last figure: two kinds lie further apart than its tolerance.
        """
        barred = set(self.unplaced)
        places = np.array(
            [at for at in range(len(self.arrows)) if at not in barred], dtype=np.int64
        )
        kinds = list(dict.fromkeys(one.kind for one in self.arrows))
        numbers = {kind: float(number) for number, kind in enumerate(kinds)}
        kind = np.array([[numbers[self.arrows[at].kind]] for at in places.tolist()]).reshape(-1, 1)
        figures = np.concatenate([self.figures[places], kind], axis=1)
        return places, figures, np.append(self.tolerances, 0.5)

    def length_of(self, at: int) -> float:
        """Give the length of an arrow that has one [m]."""
        return float(self.figures[at, 0])

    def shortest_of(self, members: Sequence[int]) -> int:
        """Give the shortest arrow, the first of equals."""
        return min(members, key=lambda at: (self.length_of(at), at))

    def range_of(self, members: Sequence[int]) -> tuple[Column, Column]:
        """Give the least and the greatest of each figure."""
        figures = self.figures[list(members)]
        return figures.min(axis=0), figures.max(axis=0)
