"""Cubic Hermite elements: a matrix of four by four for each element of a stack of tubes.

The deflection of an element is a cubic in z, its place from 0 to 1; its degrees of freedom are
deflection and slope at either end. Every entry of its mass matrix and of its share of the
compression is a polynomial in z. So the moments of its masses, the sums of m z^p up to p = 6, are
all it needs, and masses that begin, end or sit within it count exactly. Masses beyond the tube's
ends sit on rigid arms.

Bending follows the stiffness E I within the element: under a moment that changes linearly its
ends turn and shift exactly. A cubic would make a narrow neck too stiff.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.polynomial import Polynomial

from drawmark.fitting.columns import Column
from drawmark.fitting.mechanics.moments import MOMENTS, ORDERS, powers
from drawmark.fitting.mechanics.tubes import Tubes

_SHAPES: Final = (
    Polynomial([1.0, 0, -3, 2]),
    Polynomial([0.0, 1, -2, 1]),
    Polynomial([0.0, 0, 3, -2]),
    Polynomial([0.0, 0, -1, 1]),
)


def _table(order: int, *, summed: bool) -> Column:
    """Coefficients of z^p in the products of the shapes' derivatives; of their integrals."""
    table = np.zeros((MOMENTS, 16))
    for i, first in enumerate(_SHAPES):
        for j, second in enumerate(_SHAPES):
            product = first.deriv(order) * second.deriv(order) if order else first * second
            coefficients = (product.integ() if summed else product).coef
            table[: len(coefficients), 4 * i + j] = coefficients
    return table


_INERTIA: Final = _table(0, summed=False)
_PUSH: Final = _table(1, summed=True)
# How far an element bends evenly, and to one side and back, by its degrees of freedom.
_EVEN: Final = np.array([0.0, -1, 0, 1])
_TURNED: Final = np.array([2.0, 1, -2, 1])
_BENDING: Final = np.stack(
    [
        np.outer(_EVEN, _EVEN).ravel(),
        (np.outer(_EVEN, _TURNED) + np.outer(_TURNED, _EVEN)).ravel(),
        np.outer(_TURNED, _TURNED).ravel(),
    ]
)


BAND: Final = 4
"""Diagonals of a tube's matrix, from the main one down; those above are the same."""
_FRONT: Final = [0, 1, 3, 2]
# How often a slope, which is rise over the whole of an element of width 1, enters each entry.
_SLOPES: Final = np.add.outer([0.0, 1, 0, 1], [0.0, 1, 0, 1]).ravel()


def bending_blocks(tubes: Tubes) -> Column:
    """Stiffness against bending, by tube and element [N/m]."""
    scales = tubes.width[..., None] ** (_SLOPES - 2)
    return _blocks(tubes.bending @ _BENDING * scales, tubes)


def mass_blocks(tubes: Tubes) -> Column:
    """Inertia across the arrow, by tube and element [kg]."""
    scales = tubes.width[..., None] ** _SLOPES
    blocks = _blocks(_moments(tubes) @ _INERTIA * scales, tubes)
    mass, place = tubes.lumps[..., 0], tubes.lumps[..., 1]
    behind = np.minimum(place, 0.0)
    ahead = np.maximum(place - tubes.length[:, None], 0.0)
    for element, corner, arm in ((0, 0, behind), (-1, 2, ahead)):
        if arm.any():
            first = (mass * arm).sum(axis=1)
            blocks[:, element, corner, corner + 1] += first
            blocks[:, element, corner + 1, corner] += first
            blocks[:, element, corner + 1, corner + 1] += (mass * arm * arm).sum(axis=1)
    return blocks


def push_blocks(tubes: Tubes) -> Column:
    """Work of a push of 1 N at the rear, against which the masses hold, by tube and element [1/m].

    A mass ahead of the tube holds back along the undeflected line, through its rigid arm. The push
    acts at the rear end of the nock, which turns with the tube; neither nock nor tube carries a
    share of a mass that sits there.
    """
    moments = _moments(tubes)
    masses = moments[..., 0]
    ahead = masses[:, ::-1].cumsum(axis=1)[:, ::-1] - masses
    shares = moments @ _PUSH + ahead[..., None] * _PUSH.sum(axis=0)
    scales = tubes.width[..., None] ** (_SLOPES - 1) / tubes.mass[:, None, None]
    blocks = _blocks(shares * scales, tubes)
    mass, place = tubes.lumps[..., 0], tubes.lumps[..., 1]
    arm = np.maximum(place - tubes.length[:, None], 0.0)
    blocks[:, -1, 3, 3] += (mass * arm).sum(axis=1) / tubes.mass
    behind = np.where(place < 0, mass, 0.0).sum(axis=1)
    blocks[:, 0, 1, 1] += (1 - behind / tubes.mass) * tubes.nock
    return blocks


def pin_behind(blocks: Column, nock: Column) -> Column:
    """Tie the rear deflection to the slope, as a pin at the rear end of the nock does."""
    arm = nock[:, None]
    blocks[:, 0, 1] += arm * blocks[:, 0, 0]
    blocks[:, 0, :, 1] += arm * blocks[:, 0, :, 0]
    return blocks


def bands_of(blocks: Column, rear: int, front: int) -> Column:
    """Add blocks up where elements meet, without what the ends hold: diagonals by tube.

    At the front end the slope comes before the deflection, so that what is held is outermost.
    """
    count, elements = blocks.shape[:2]
    blocks[:, -1] = blocks[:, -1][:, _FRONT][:, :, _FRONT]
    bands = np.zeros((count, BAND, 2 * elements + 2))
    for below in range(BAND):
        for column in range(BAND - below):
            entry = blocks[:, :, column + below, column]
            bands[:, below, column : column + 2 * elements : 2] += entry
    return bands[..., rear : 2 * elements + 2 - front]


def times(bands: Column, motions: Column) -> Column:
    """Apply a symmetric matrix of each tube, by its diagonals, to motions in rows."""
    product = bands[:, :1] * motions
    for below in range(1, BAND):
        diagonal = bands[:, below : below + 1, :-below]
        product[..., below:] += diagonal * motions[..., :-below]
        product[..., :-below] += diagonal * motions[..., below:]
    return product


def _moments(tubes: Tubes) -> Column:
    """Sums of m z^p, by tube, element and p."""
    width = tubes.width
    moments = np.empty((len(width), tubes.elements, MOMENTS))
    moments[:] = tubes.moments
    if tubes.spans.shape[1]:
        mass, start, end = (tubes.spans[..., index] for index in range(3))
        begun = tubes.edges[:, :-1, None, None]
        ends = (tubes.spans[:, None, :, 1:] - begun) / width[:, :, None, None]
        between = powers(np.minimum(np.maximum(ends, 0.0), 1.0), 1)
        density = (mass / (end - start))[:, None] * width[..., None]
        held = (between[..., 1, :] - between[..., 0, :]) / ORDERS
        moments += (density[..., None, :] @ held)[..., 0, :]
    if tubes.lumps.shape[1]:
        tube = np.arange(len(width))[:, None]
        place = np.minimum(np.maximum(tubes.lumps[..., 1], 0.0), tubes.length[:, None])
        home = (place[..., None] >= tubes.edges[:, None, 1:-1]).sum(axis=2)
        begun = tubes.edges[tube, home]
        inside = (place - begun) / (tubes.edges[tube, home + 1] - begun)
        held = tubes.lumps[..., :1] * powers(inside, 0)
        for index in range(place.shape[1]):
            moments[tube[:, 0], home[:, index]] += held[:, index]
    return moments


def _blocks(entries: Column, tubes: Tubes) -> Column:
    """Give each element a block of its own, where one stands for all of a tube."""
    blocks = np.empty((len(entries), tubes.elements, 4, 4))
    blocks[:] = entries.reshape(len(entries), -1, 4, 4)
    return blocks
