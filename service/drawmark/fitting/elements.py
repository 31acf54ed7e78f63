"""Cubic Hermite elements: matrices of tubes, many side by side.

An element's deflection is a cubic in z, its place from 0 to 1; its freedoms are deflection
and slope (times the element's length h) at either end. All that an element needs to know of
its masses are their moments, the sums of m z^p up to p = 6: every entry of its mass matrix and
of its share of the compression is a polynomial in z, so that masses which begin, end or sit
within an element count exactly. Masses beyond the tube's ends ride on rigid arms.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.polynomial import Polynomial

from drawmark.fitting.columns import Column

if TYPE_CHECKING:
    from drawmark.fitting.tubes import Tubes

_CELLS: Final = 4

_SHAPES: Final = (
    Polynomial([1.0, 0, -3, 2]),
    Polynomial([0.0, 1, -2, 1]),
    Polynomial([0.0, 0, 3, -2]),
    Polynomial([0.0, 0, -1, 1]),
)
_MOMENTS: Final = 7


def _table(order: int, *, summed: bool) -> Column:
    """Coefficients of z^p in the products of the shapes' derivatives; of their integrals."""
    table = np.zeros((_MOMENTS, 16))
    for i, first in enumerate(_SHAPES):
        for j, second in enumerate(_SHAPES):
            product = first.deriv(order) * second.deriv(order) if order else first * second
            coefficients = (product.integ() if summed else product).coef
            table[: len(coefficients), 4 * i + j] = coefficients
    return table


def _gauss() -> tuple[Column, Column]:
    place, weight = np.polynomial.legendre.leggauss(4)
    cell = np.arange(_CELLS)[:, None]
    return ((cell + (place + 1) / 2) / _CELLS).ravel(), np.tile(weight / 2 / _CELLS, _CELLS)


PLACES, WEIGHTS = _gauss()
_ORDERS: Final = np.arange(1, _MOMENTS + 1)
_WEIGHTED: Final = WEIGHTS[:, None] * PLACES[:, None] ** (_ORDERS - 1)
_INERTIA: Final = _table(0, summed=False)
_PUSH: Final = _table(1, summed=True)
_BENDING: Final = _WEIGHTED @ _table(2, summed=False)


def bending_matrix(tubes: Tubes) -> Column:
    """Stiffness against bending, by tube [N/m]."""
    element = tubes.length / tubes.stiffness.shape[1]
    return _assemble(tubes.stiffness @ _BENDING / element[:, None, None] ** 3)


def mass_matrix(tubes: Tubes) -> Column:
    """Inertia across the arrow, by tube [kg]."""
    matrix = _assemble(_moments(tubes) @ _INERTIA)
    element = tubes.length / tubes.stiffness.shape[1]
    mass, place = tubes.lumps[..., 0], tubes.lumps[..., 1]
    behind = np.minimum(place, 0.0)
    ahead = np.maximum(place - tubes.length[:, None], 0.0)
    for corner, arm in ((0, behind), (-2, ahead)):
        if arm.any():
            arm = arm / element[:, None]
            first = (mass * arm).sum(axis=1)
            matrix[:, corner, corner + 1] += first
            matrix[:, corner + 1, corner] += first
            matrix[:, corner + 1, corner + 1] += (mass * arm * arm).sum(axis=1)
    return matrix


def push_matrix(tubes: Tubes) -> Column:
    """Work of a push of 1 N at the rear, against which the masses hold, by tube [1/m].

    A mass ahead of the tube holds back along the undeflected line, through its rigid arm. A mass
    behind it is pushed before the push comes to the tube, which carries none of its share.
    """
    moments = _moments(tubes)
    masses = moments[..., 0]
    ahead = masses[:, ::-1].cumsum(axis=1)[:, ::-1] - masses
    element = tubes.length / tubes.stiffness.shape[1]
    blocks = moments @ _PUSH + ahead[..., None] * _PUSH.sum(axis=0)
    matrix = _assemble(blocks / (element * tubes.mass)[:, None, None])
    mass, place = tubes.lumps[..., 0], tubes.lumps[..., 1]
    arm = np.maximum(place - tubes.length[:, None], 0.0)
    matrix[:, -1, -1] += (mass * arm).sum(axis=1) / tubes.mass / element**2
    return matrix


def _moments(tubes: Tubes) -> Column:
    """Sums of m z^p, by tube, element and p."""
    elements = tubes.stiffness.shape[1]
    element = tubes.length / elements
    moments = tubes.density @ _WEIGHTED * element[:, None, None]
    number = np.arange(elements)[:, None]
    if tubes.spans.shape[1]:
        mass, start, end = (tubes.spans[..., index] for index in range(3))
        ends = tubes.spans[:, None, :, 1:] / element[:, None, None, None] - number[:, None]
        powers = _powers(np.minimum(np.maximum(ends, 0.0), 1.0), 1)
        density = mass * element[:, None] / (end - start)
        held = (powers[..., 1, :] - powers[..., 0, :]) / _ORDERS
        moments += (density[:, None, None, :] @ held)[..., 0, :]
    if tubes.lumps.shape[1]:
        tube = np.arange(len(element))
        place = np.minimum(np.maximum(tubes.lumps[..., 1] / element[:, None], 0.0), elements)
        home = np.minimum(place.astype(int), elements - 1)
        held = tubes.lumps[..., :1] * _powers(place - home, 0)
        for index in range(place.shape[1]):
            moments[tube, home[:, index]] += held[:, index]
    return np.asarray(moments)


def _powers(value: Column, first: int) -> Column:
    """The seven powers of values from the first on, along a new last axis."""
    powers = np.empty((*value.shape, _MOMENTS + first))
    powers[..., 0] = 1.0
    powers[..., 1:] = value[..., None]
    return np.multiply.accumulate(powers, axis=-1)[..., first:]


def _assemble(blocks: Column) -> Column:
    """Lay element blocks along the diagonal, overlapping where elements meet."""
    count, elements, _ = blocks.shape
    size = 2 * elements + 2
    matrix = np.zeros((count, size, size))
    tube, row, column = matrix.strides
    # A view of the overlapping squares along the diagonal.
    diagonal = np.ndarray(
        (count, elements, 4, 4), float, matrix, 0, (tube, 2 * (row + column), row, column)
    )
    squares = blocks.reshape(count, elements, 4, 4)
    # Every other element, so that no two of one step share a place.
    diagonal[:, ::2] += squares[:, ::2]
    diagonal[:, 1::2] += squares[:, 1::2]
    return matrix
