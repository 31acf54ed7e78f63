"""Frequencies, bending and buckling of arrows taken as Euler-Bernoulli beams."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final, Literal

import numpy as np

from drawmark.fitting.columns import Column, Real
from drawmark.fitting.mechanics import stations as tapers
from drawmark.fitting.mechanics.arrow_parts import reference_stiffness
from drawmark.fitting.mechanics.arrow_validation import length_of, projection_of, shaft_of
from drawmark.fitting.mechanics.elements import bending_matrix, mass_matrix, push_matrix
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
    1. euler-beam
    """
    _, slow, shift = _slow_motions(tubes, rear, front)
    shares = np.maximum(np.linalg.eigvalsh(slow)[:, ::-1], _ROUNDING / shift)
    squares = 1 / shares - shift
    return np.asarray(np.sqrt(squares[:, _rigid(rear, front) :]) / (2 * np.pi))


def first_shape(tubes: Tubes, rear: End = "free", front: End = "free") -> Column:
    """First bending motion at the ends of the elements, of any size.

    Parameters
    ----------
    tubes : Tubes
        Stack of tubes.
    rear, front : {"free", "pinned", "clamped"}
        How the ends are held.

    Returns
    -------
    Column
        One row a tube; deflections and slopes in turn.
    """
    lower, slow, _ = _slow_motions(tubes, rear, front)
    _, shapes = np.linalg.eigh(slow)
    shape = np.zeros((len(tubes.length), 2 * tubes.edges.shape[1]))
    first = shapes[:, :, -1 - _rigid(rear, front)]
    shape[:, _freedoms(tubes, rear, front)] = (lower.swapaxes(1, 2) @ first[..., None])[..., 0]
    return shape


def _slow_motions(tubes: Tubes, rear: End, front: End) -> tuple[Column, Column, Column]:
    """Matrix whose eigenvalues are 1 / (square of angular frequency + shift), and its reduction.

    Short elements move a million times as fast as the whole. Figures of that size would drown
    the first frequency in rounding; here the slowest motions are the largest.
    """
    kept = _kept(tubes, rear, front)
    bending, mass = bending_matrix(tubes)[kept], mass_matrix(tubes)[kept]
    # The rear element tells the size of the shift, on which no figure hangs.
    width = tubes.width[:, 0]
    size = width * width * tubes.bending[:, 0, 0] / tubes.moments[:, 0, 0]
    shift = (_SHIFT * size / tubes.length**4)[:, None]
    lower = np.linalg.inv(np.linalg.cholesky(bending + shift[..., None] * mass))
    return lower, lower @ mass @ lower.swapaxes(1, 2), shift


def buckling_forces(tubes: Tubes, rear: End = "pinned", front: End = "pinned") -> Column:
    """Least push at the rear end under which each tube buckles, its masses holding back [N].

    Parameters
    ----------
    tubes : Tubes
        Stack of tubes.
    rear, front : {"free", "pinned", "clamped"}
        How the ends are held sideways.

    Returns
    -------
    Column
        One force a tube [N].

    References
    ----------
    1. launch-buckling
    """
    kept = _kept(tubes, rear, front)
    bending, push = bending_matrix(tubes)[kept], push_matrix(tubes)[kept]
    # A tube that can turn as a whole does so without force: the shift keeps it solvable.
    rigid = _rigid(rear, front)
    shift = rigid * tubes.stiffness / tubes.length**2
    lower = np.linalg.inv(np.linalg.cholesky(bending + shift[:, None, None] * push))
    shares = np.linalg.eigvalsh(lower @ push @ lower.swapaxes(1, 2))
    return np.asarray(1 / shares[:, -1 - rigid] - shift)


def _rigid(rear: End, front: End) -> int:
    return max(0, 2 - _HELD[rear] - _HELD[front])


def _freedoms(tubes: Tubes, rear: End, front: End) -> list[int]:
    last = 2 * tubes.edges.shape[1] - 2
    held = {*range(_HELD[rear]), *range(last, last + _HELD[front])}
    return [freedom for freedom in range(last + 2) if freedom not in held]


def _kept(tubes: Tubes, rear: End, front: End) -> tuple[Any, ...]:
    if rear == front == "free":
        return (slice(None),)
    freedoms = np.array(_freedoms(tubes, rear, front))
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
    1. euler-beam
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
    1. euler-beam
    """
    return float(frequencies((arrow,))[0])


def launch_forces(arrows: Sequence[Arrow]) -> Column:
    """Critical launch forces by elements, in one stacked solve [N].

    Parameters
    ----------
    arrows : sequence of Arrow
        Arrows of single figures with length, static spine, mass per length and point mass.

    Returns
    -------
    Column
        One force an arrow [N].

    Raises
    ------
    FittingError
        Where one of the four is not given, or a shaft with stations cannot be tested.

    References
    ----------
    1. launch-buckling
    """
    return buckling_forces(tubes_of(arrows))


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
    1. simple-beam
    """
    length, stiffness = length_of(arrow), reference_stiffness(arrow)
    deflection = ASTM_LOAD * (length * length * length) / (48 * stiffness)
    given = shaft_of(arrow).stations
    if given is None:
        return deflection
    rear = float(projection_of(arrow))
    flexibility = tapers.profile_of(given).flexibility(-rear, float(length) - rear)
    return deflection * flexibility
