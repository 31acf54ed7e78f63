"""The first bending frequency of uniform tubes, solved in polynomials for a column of arrows.

With z the place in tube lengths and polynomials whose second derivatives are the orthonormal
polynomials of Legendre, the tube bends at the cost of E I / T^3 for each. Left out of the masses
what moves as a whole, their largest eigenvalue m gives the frequency: w^2 = E I / (T^3 m).

`beam` gives the same to 1e-5, to 1e-4 where a heavy mass lies within the tube, and takes tapered
shafts too. It costs ten times as much, and who solves for a length and a point asks for many.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.polynomial import legendre

from drawmark.fitting.columns import Column
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.arrow_parts import carried_parts
from drawmark.fitting.mechanics.arrow_validation import (
    length_of,
    projection_of,
    shaft_of,
    stiffness_missing_from,
)
from drawmark.fitting.model import Arrow

_BENDING: Final = 8
"""Bending polynomials: more of them change usual arrows by less than 1e-6."""
_RIGID: Final = 2
_ROUNDS: Final = 5
_ORDERS: Final = _BENDING + 2


def _coefficients() -> Column:
    """Coefficients of the polynomials, by orders of Legendre over z from 0 to 1."""
    rows = np.zeros((_RIGID + _BENDING, _ORDERS))
    rows[0, 0] = rows[1, 1] = 1.0
    for order in range(_BENDING):
        bend = np.zeros(order + 1)
        bend[order] = np.sqrt(2 * order + 1)
        shape = legendre.legint(bend, 2, scl=0.5)
        rows[_RIGID + order, : len(shape)] = shape
    return rows


_SHAPES: Final = _coefficients()
_SLOPES: Final = np.array(
    [2 * legendre.legval([-1.0, 1.0], legendre.legder(row)) for row in _SHAPES]
)


def _gauss(count: int) -> tuple[Column, Column]:
    place, weight = legendre.leggauss(count)
    return (place + 1) / 2, weight / 2


_SPREAD: Final = _gauss(4)
"""Places and shares of a mass that lies evenly between two places."""
_LUMP: Final = (np.array([0.5]), np.array([1.0]))


def _at(place: Column) -> Column:
    """The polynomials at places along tubes; beyond the ends on a rigid arm."""
    within = np.clip(place, 0.0, 1.0)
    beyond = place - within
    end = (place > 0.5).astype(int)
    values = legendre.legvander(2 * within - 1, _ORDERS - 1) @ _SHAPES.T
    return np.asarray(values + beyond[..., None] * _SLOPES.T[end])


def _tube() -> Column:
    place, weight = _gauss(_ORDERS)
    return np.asarray((_at(place) * weight[:, None]).T @ _at(place))


_TUBE: Final = _tube()


def uniform_frequencies(arrow: Arrow) -> Column:
    """First bending frequencies of free arrows with uniform shafts [Hz].

    Parameters
    ----------
    arrow : Arrow
        Arrow with length, static spine, mass per length and point mass, of which any may be
        columns.

    Returns
    -------
    Column
        One frequency an arrow [Hz].

    Raises
    ------
    FittingError
        Where one of the four is not given.

    References
    ----------
    .. [1] euler-beam
    """
    carried, shaft = carried_parts(arrow), shaft_of(arrow)
    stiffness, density = shaft.static_spine, shaft.mass_per_length
    if stiffness is None or density is None:
        raise FittingError(*stiffness_missing_from(arrow))
    rear = projection_of(arrow)
    tube = np.atleast_1d(np.asarray(length_of(arrow) - rear, dtype=float))
    masses = np.asarray(density * tube)[:, None, None] * _TUBE
    places, shares = [], []
    for part in carried:
        start, width = (part.start - rear) / tube, (part.end - part.start) / tube
        at, share = _LUMP if (width == 0).all() else _SPREAD
        places.append(start[:, None] + width[:, None] * at)
        shares.append(np.broadcast_to(part.mass, tube.shape)[:, None] * share)
    shapes = _at(np.concatenate(places, axis=1))
    weighed = shapes * np.concatenate(shares, axis=1)[..., None]
    masses = masses + weighed.swapaxes(1, 2) @ shapes
    between, held = masses[:, :_RIGID, _RIGID:], masses[:, _RIGID:, _RIGID:]
    held = held - between.swapaxes(1, 2) @ _inverse(masses[:, :_RIGID, :_RIGID]) @ between
    largest = _largest(held)
    return np.asarray(np.sqrt(stiffness / (tube * tube * tube * largest)) / (2 * np.pi))


def _inverse(rigid: Column) -> Column:
    """Invert symmetric matrices of two by two, as no solver of many can as fast."""
    first, both, second = rigid[:, 0, 0], rigid[:, 0, 1], rigid[:, 1, 1]
    turned = np.stack([second, -both, -both, first], axis=1).reshape(-1, 2, 2)
    return np.asarray(turned / (first * second - both * both)[:, None, None])


def _largest(masses: Column) -> Column:
    """Largest eigenvalue of each matrix: the next is a seventh of it, so few rounds do."""
    shape = np.zeros((*masses.shape[:2], 1))
    shape[:, 0] = 1.0
    for _ in range(_ROUNDS):
        shape = masses @ shape
        shape /= np.abs(shape).max(axis=1, keepdims=True)
    moved = masses @ shape
    return np.asarray((moved * moved).sum((1, 2)) / (moved * shape).sum((1, 2)))
