"""Which arrows do not belong to their set, by statistics that a few odd ones do not distort.

References
----------
.. [1] project-consistency
.. [2] normal-mad
.. [3] set-tolerance
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

import numpy as np

from drawmark.fitting.columns import Column, Mask, Real, Truth
from drawmark.fitting.limits import (
    CONSISTENCY_COUNT,
    LEAST_ODD_BALANCE,
    LEAST_ODD_LENGTH,
    LEAST_ODD_MASS,
    LEAST_ODD_SPINE,
    MAD_TO_DEVIATION,
    MOST_LIKE_BALANCE,
    MOST_LIKE_LENGTH,
    MOST_LIKE_MASS,
    MOST_LIKE_SPINE,
    ODD_DEVIATIONS,
    USUAL_LENGTH_RANGE,
    USUAL_MASS_RANGE,
    longer,
    more,
)

Figure = Literal["length", "mass", "balance_point", "static_spine"]
LEAST: Final[dict[Figure, float]] = {
    "length": LEAST_ODD_LENGTH,
    "mass": LEAST_ODD_MASS,
    "balance_point": LEAST_ODD_BALANCE,
    "static_spine": LEAST_ODD_SPINE,
}
"""Difference up to which no arrow is odd [m, kg]; of the static spine a share of the usual one."""
MOST: Final[dict[Figure, float]] = {
    "length": MOST_LIKE_LENGTH,
    "mass": MOST_LIKE_MASS,
    "balance_point": MOST_LIKE_BALANCE,
    "static_spine": MOST_LIKE_SPINE,
}
"""Difference beyond which every arrow is odd, as `LEAST`."""
USUAL_RANGE: Final[dict[Figure, float]] = {"length": USUAL_LENGTH_RANGE, "mass": USUAL_MASS_RANGE}
"""Range that is usual within one set [m, kg]."""

FIGURES: Final[tuple[Figure, ...]] = get_args(Figure)
_DISTANCES: Final = ("length", "balance_point")


@dataclass(frozen=True, kw_only=True, slots=True)
class OddArrow:
    """One figure of an arrow that does not belong to its set.

    Parameters
    ----------
    index : int
        Index of the arrow.
    figure : Figure
        Which of its figures.
    value : float
        The figure of this arrow [SI].
    typical : float
        Median of the set [SI].
    limit : float
        How far from the median a figure may be [SI].
    """

    index: int
    figure: Figure
    value: float
    typical: float
    limit: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Spread:
    """How far one figure varies within the set.

    Parameters
    ----------
    figure : Figure
        Which figure.
    count : int
        Number of arrows measured.
    range : float
        Greatest less least [SI].
    deviation : float
        Standard deviation of the sample [SI].
    usual : bool
        Whether the range is no greater than usual in one set.
    """

    figure: Figure
    count: int
    range: float
    deviation: float
    usual: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Consistency:
    """What the single arrows say about their set.

    Parameters
    ----------
    odd : tuple[OddArrow, ...]
        What does not belong, arrow by arrow.
    not_checked : tuple[Figure, ...]
        Figures measured on too few arrows to tell an odd one.
    unmeasured : tuple[tuple[int, Figure], ...]
        Arrows without a figure that others of the set have.
    spread : tuple[Spread, ...]
        How far length and mass vary, each where two arrows or more were measured.
    shortest : int | None
        Index of the shortest arrow measured; None where none was.
    """

    odd: tuple[OddArrow, ...]
    not_checked: tuple[Figure, ...]
    unmeasured: tuple[tuple[int, Figure], ...]
    spread: tuple[Spread, ...]
    shortest: int | None


def check_consistency(
    *, length: Column, mass: Column, balance_point: Column, static_spine: Column
) -> Consistency:
    """Find the arrows of a set that do not belong, and its shortest length.

    A figure is odd if its distance from the median is more than 3.5 scaled median absolute
    deviations and more than the least difference that matters. A wide spread excuses no arrow: at
    a few times that difference it is odd in any set.

    Parameters
    ----------
    length : Column
        Arrow lengths; nan where not measured, here and below [m].
    mass : Column
        Masses of the complete arrows [kg].
    balance_point : Column
        Bottom of the nock slot to the balance point [m].
    static_spine : Column
        Bending stiffness of the shafts [N m^2].

    Returns
    -------
    Consistency
        The odd arrows, and what could not be checked.

    Raises
    ------
    ValueError
        If the columns differ in length, or a figure is infinite or not positive.

    References
    ----------
    .. [1] project-consistency
    .. [2] normal-mad
    .. [3] set-tolerance
    """
    columns = dict(zip(FIGURES, (length, mass, balance_point, static_spine), strict=True))
    if any(column.shape != length.shape or column.ndim != 1 for column in columns.values()):
        raise ValueError("one figure of each kind for each arrow")
    if any(((column <= 0) | np.isinf(column)).any() for column in columns.values()):
        raise ValueError("a figure is infinite or not positive")

    measured = {figure: ~np.isnan(column) for figure, column in columns.items()}
    checked = [name for name in FIGURES if measured[name].sum() >= CONSISTENCY_COUNT]
    odd = [one for name in checked for one in _find_odd(name, columns[name], measured[name])]
    missing = [
        (int(index), name)
        for name in FIGURES
        if measured[name].any()
        for index in np.flatnonzero(~measured[name])
    ]
    return Consistency(
        odd=tuple(sorted(odd, key=lambda one: (one.index, FIGURES.index(one.figure)))),
        not_checked=tuple(name for name in FIGURES if name not in checked),
        unmeasured=tuple(sorted(missing, key=lambda one: (one[0], FIGURES.index(one[1])))),
        spread=tuple(
            _measure_spread(name, columns[name][measured[name]])
            for name in USUAL_RANGE
            if measured[name].sum() >= 2
        ),
        shortest=int(np.nanargmin(length)) if measured["length"].any() else None,
    )


def _find_odd(figure: Figure, column: Column, measured: Mask) -> list[OddArrow]:
    typical = float(np.median(column[measured]))
    deviation = np.abs(column - typical)
    spread = MAD_TO_DEVIATION * float(np.median(deviation[measured]))
    scale = typical if figure == "static_spine" else 1.0
    limit = min(max(ODD_DEVIATIONS * spread, LEAST[figure] * scale), MOST[figure] * scale)
    beyond = _exceeds(figure, deviation, limit)
    return [
        OddArrow(
            index=int(index),
            figure=figure,
            value=float(column[index]),
            typical=typical,
            limit=limit,
        )
        for index in np.flatnonzero(beyond)
    ]


def _measure_spread(figure: Figure, values: Column) -> Spread:
    width = float(np.ptp(values))
    return Spread(
        figure=figure,
        count=len(values),
        range=width,
        deviation=float(np.std(values, ddof=1)),
        usual=not _exceeds(figure, width, USUAL_RANGE[figure]),
    )


def _exceeds(figure: Figure, difference: Real, limit: float) -> Truth:
    return longer(difference, limit) if figure in _DISTANCES else more(difference, limit)
