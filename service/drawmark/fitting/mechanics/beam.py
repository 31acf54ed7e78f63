"""Frequencies, bending and buckling of arrows taken as Euler-Bernoulli beams."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final, Literal

import numpy as np

from drawmark.fitting.columns import Column, Real
from drawmark.fitting.mechanics.arrow_parts import reference_stiffness
from drawmark.fitting.mechanics.arrow_validation import length_of, projection_of, shaft_of
from drawmark.fitting.mechanics.elements import (
    bending_matrix,
    mass_matrix,
    pin_behind,
    push_matrix,
)
from drawmark.fitting.mechanics.stations import profile_of
from drawmark.fitting.mechanics.tubes import Tubes, tubes_of
from drawmark.fitting.model import Arrow
from drawmark.fitting.units import ASTM_LOAD

End = Literal["free", "pinned", "clamped"]

# In E I over the shaft's mass times T^3 the first angular frequency squared is 97 to 500.
_SHIFT: Final = 100.0
_ROUNDING: Final = 1e-15
_HELD: Final[dict[End, int]] = {"free": 0, "pinned": 1, "clamped": 2}


def natural_frequencies(tubes: Tubes, rear: End = "free", front: End = "free") -> Column:
    """Natural frequencies of each tube, ascending, rigid motions left out [Hz].

    Parameters
    ----------
    tubes : Tubes
        Stack of tubes.
    rear, front : {"free", "pinned", "clamped"}
        How the ends are held.

    Returns
    -------
    Column
        One row a tube [Hz].

    References
    ----------
    .. [1] euler-beam
    """
    # The rear element gives the size of the shift, on which no figure depends.
    width = tubes.width[:, 0]
    size = width * width * tubes.bending[:, 0, 0] / tubes.moments[:, 0, 0]
    shift = (_SHIFT * size / tubes.length**4)[:, None]
    shares = _shares(tubes, mass_matrix(tubes), shift, rear, front)
    squares = 1 / np.maximum(shares, _ROUNDING / shift) - shift
    return np.asarray(np.sqrt(squares[:, _rigid(rear, front) :]) / (2 * np.pi))


def buckling_forces(tubes: Tubes, rear: End = "pinned", front: End = "pinned") -> Column:
    """Least push at the rear end under which each tube buckles, its masses holding back [N].

    Parameters
    ----------
    tubes : Tubes
        Stack of tubes.
    rear, front : {"free", "pinned", "clamped"}
        How the ends are held sideways; a pinned rear end at the rear end of the nock.

    Returns
    -------
    Column
        One force a tube [N].

    References
    ----------
    .. [1] launch-buckling
    """
    # A tube that can turn as a whole does so without force: the shift keeps it solvable.
    rigid = _rigid(rear, front)
    shift = (rigid * tubes.stiffness / tubes.length**2)[:, None]
    shares = _shares(tubes, push_matrix(tubes), shift, rear, front)
    return np.asarray(1 / shares[:, rigid] - shift[:, 0])


def _shares(tubes: Tubes, load: Column, shift: Column, rear: End, front: End) -> Column:
    """1 / (x + shift) for each x at which bending balances x times the load, descending.

    Short elements move a million times as fast as the whole. Figures of that size would drown
    the first frequency in rounding; here the slowest motions are the largest.
    """
    kept = _kept(tubes, rear, front)
    bending = bending_matrix(tubes)
    if rear == "pinned":
        bending, load = pin_behind(bending, tubes.nock), pin_behind(load, tubes.nock)
    bending, load = bending[kept], load[kept]
    lower = np.linalg.inv(np.linalg.cholesky(bending + shift[..., None] * load))
    return np.asarray(np.linalg.eigvalsh(lower @ load @ lower.swapaxes(1, 2))[:, ::-1])


def _rigid(rear: End, front: End) -> int:
    return max(0, 2 - _HELD[rear] - _HELD[front])


def _kept(tubes: Tubes, rear: End, front: End) -> tuple[Any, ...]:
    """Index of the freedoms that the ends leave, in a stack of matrices."""
    if rear == front == "free":
        return (slice(None),)
    last = 2 * tubes.edges.shape[1] - 2
    held = {*range(_HELD[rear]), *range(last, last + _HELD[front])}
    freedoms = np.array([freedom for freedom in range(last + 2) if freedom not in held])
    return slice(None), freedoms[:, None], freedoms


def frequencies(arrows: Sequence[Arrow]) -> Column:
    """First bending frequencies of free arrows, in one stacked solve [Hz].

    Parameters
    ----------
    arrows : sequence of Arrow
        Arrows of single figures with length, static spine, mass per length and point mass.

    Returns
    -------
    Column
        One frequency an arrow [Hz].

    Raises
    ------
    FittingError
        Where one of the four is not given, or a shaft with stations cannot be tested.

    References
    ----------
    .. [1] euler-beam
    """
    return np.asarray(natural_frequencies(tubes_of(arrows))[:, 0])


def first_bending_frequency(arrow: Arrow) -> float:
    """First bending frequency of a free arrow [Hz].

    Parameters
    ----------
    arrow : Arrow
        Arrow with length, static spine, mass per length and point mass.

    Returns
    -------
    float
        Frequency [Hz].

    Raises
    ------
    FittingError
        Where one of the four is not given, or a shaft with stations cannot be tested.

    References
    ----------
    .. [1] euler-beam
    """
    return float(frequencies((arrow,))[0])


def own_length_deflection(arrow: Arrow) -> Real:
    """Deflection under 1.94 lb at the middle of a span as long as the arrow [m].

    Stations go on beyond the tube as they end, so that the nock's projection counts alike for
    uniform and tapered shafts.

    Parameters
    ----------
    arrow : Arrow
        Arrow with length and static spine.

    Returns
    -------
    Real
        Deflection [m].

    Raises
    ------
    FittingError
        Where one of the two is not given, or a shaft with stations cannot be tested.

    References
    ----------
    .. [1] simple-beam
    """
    length, stiffness = length_of(arrow), reference_stiffness(arrow)
    deflection = ASTM_LOAD * (length * length * length) / (48 * stiffness)
    given = shaft_of(arrow).stations
    if given is None:
        return deflection
    rear = float(projection_of(arrow))
    return deflection * profile_of(given).flexibility(-rear, float(length) - rear)
