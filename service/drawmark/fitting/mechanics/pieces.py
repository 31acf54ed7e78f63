"""Pieces of tapered shafts, along each of which stiffness and mass change linearly.

Given places on a shaft and its stations divide it into pieces. Over each piece the integrals that
bending asks for have a closed form.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.fitting.columns import Column, Whole
from drawmark.fitting.mechanics.moments import MOMENTS, ORDERS, powers

_NEARLY_LEVEL: Final = 0.01
_SERIES: Final = 1 / (2 * ORDERS + 1)


def _gauss(count: int) -> tuple[Column, Column]:
    place, weight = np.polynomial.legendre.leggauss(count)
    return place, weight / 2


# As many places as the sixth moment of a linear mass needs.
_PLACES, _WEIGHTS = _gauss(4)


@dataclass(frozen=True, kw_only=True, slots=True)
class Pieces:
    """Pieces of one shaft or of several, one after the other.

    Within a piece s runs from -1 to 1, and a figure is the one in the middle times 1 + share s.

    Parameters
    ----------
    home : Whole
        Which of the intervals between given places each lies in, over all shafts.
    intervals : int
        Number of those.
    middle, width : Column
        Middle of each and its length [m].
    stiffness, stiffness_share : Column
        Relative stiffness in the middle, and its share.
    mass, mass_share : Column
        Relative mass in the middle, and its share.
    """

    home: Whole
    intervals: int
    middle: Column
    width: Column
    stiffness: Column
    stiffness_share: Column
    mass: Column
    mass_share: Column

    def sum(self, figures: Column) -> Column:
        """Sum figures of the pieces by interval."""
        return np.asarray(np.bincount(self.home, figures, self.intervals), dtype=float)

    def bends(self) -> tuple[Column, Column, Column]:
        """Integrals of 1, s and s^2 over the relative stiffness of each [m]."""
        share = self.stiffness_share
        square = share * share
        aside = powers(square, 0) @ _SERIES
        steep = square > _NEARLY_LEVEL
        if steep.any():
            steeply = share[steep]
            aside[steep] = (np.arctanh(steeply) / steeply - 1) / square[steep]
        level = self.width / self.stiffness
        return level * (1 + square * aside), -level * share * aside, level * aside

    def mass_moments(self, start: Column, width: Column) -> Column:
        """Moments of mass of each about the start of an interval of a width [m], in a row each."""
        inside = (self.middle - start) / width
        place = inside[:, None] + (self.width / (2 * width))[:, None] * _PLACES
        mass = self.mass[:, None] * (1 + self.mass_share[:, None] * _PLACES) * _WEIGHTS
        moments = mass[:, None] @ powers(place, 0)
        return moments.reshape(-1, MOMENTS) * self.width[:, None]


def pieces_between(places: Column, position: Column, stiffness: Column, mass: Column) -> Pieces:
    """Divide shafts at places and at their stations.

    Parameters
    ----------
    places : Column
        Rising places, by shaft [m].
    position, stiffness, mass : Column
        Stations as in a Profile, by shaft.

    Returns
    -------
    Pieces
        Those between the first and the last place.
    """
    count, last = places.shape[1], position.shape[1] - 1
    every = np.concatenate([places, np.clip(position, places[:, :1], places[:, -1:])], axis=1)
    order = np.argsort(every, axis=1, kind="stable")
    every = np.take_along_axis(every, order, axis=1)
    row, at = np.nonzero(every[:, 1:] > every[:, :-1])
    passed = (order >= count).cumsum(axis=1)[row, at]
    near, far = np.maximum(passed - 1, 0), np.minimum(passed, last)
    start, end = every[row, at], every[row, at + 1]
    rear = position[row, near]
    between = position[row, far] - rear
    # Beyond the stations everything goes on as at the last.
    between[between <= 0] = np.inf
    # Both are from 0 to 1, however close the stations are; the middle of a piece may round beyond.
    first, second = (start - rear) / between, (end - rear) / between
    figures = []
    for value in (stiffness, mass):
        low, high = value[row, near], value[row, far]
        before, after = low + (high - low) * first, low + (high - low) * second
        figures += [(before + after) / 2, (after - before) / (before + after)]
    return Pieces(
        home=row * (count - 1) + at - passed,
        intervals=len(places) * (count - 1),
        middle=(start + end) / 2,
        width=end - start,
        stiffness=figures[0],
        stiffness_share=figures[1],
        mass=figures[2],
        mass_share=figures[3],
    )
