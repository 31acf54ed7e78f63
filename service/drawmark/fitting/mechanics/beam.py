"""Frequencies, bending and buckling of arrows taken as Euler-Bernoulli beams."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final, Literal

import numpy as np
from scipy.linalg.lapack import dpbtrf, dpbtrs, dsygvd

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
_SPARE: Final = 4
_BAND: Final = 4
_ROUNDS: Final = 40
_EXACT: Final = 1e-13
_HELD: Final[dict[End, int]] = {"free": 0, "pinned": 1, "clamped": 2}


def natural_frequencies(
    tubes: Tubes, rear: End = "free", front: End = "free", count: int = 1
) -> Column:
    """Lowest natural frequencies of each tube, ascending, rigid motions left out [Hz].

    Parameters
    ----------
    tubes : Tubes
        Stack of tubes.
    rear, front : {"free", "pinned", "clamped"}
        How the ends are held.
    count : int
        How many frequencies of each.

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
    shift = _SHIFT * size / tubes.length**4
    shares = _shares(tubes, mass_matrix(tubes), shift, rear, front, count)
    return np.asarray(np.sqrt(1 / shares - shift[:, None]) / (2 * np.pi))


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
    shift = _rigid(rear, front) * tubes.stiffness / tubes.length**2
    shares = _shares(tubes, push_matrix(tubes), shift, rear, front, 1)
    return np.asarray(1 / shares[:, 0] - shift)


def _shares(tubes: Tubes, load: Column, shift: Column, rear: End, front: End, count: int) -> Column:
    """1 / (x + shift) for each x at which bending balances x times the load, descending.

    Those of rigid motions are left out.
    """
    kept = _kept(tubes, rear, front)
    bending = bending_matrix(tubes)
    if rear == "pinned":
        bending, load = pin_behind(bending, tubes.nock), pin_behind(load, tubes.nock)
    bending, load = bending[kept], load[kept]
    first = _rigid(rear, front)
    motions = _motions(tubes, first + count + _SPARE)[:, kept[1].ravel()]
    bending += shift[:, None, None] * load
    stacked = zip(bending, load, motions, strict=True)
    return np.array([largest_shares(*each, first + count)[first:] for each in stacked])


def _motions(tubes: Tubes, count: int) -> Column:
    """Deflections and slopes that are powers of the place: what a solution starts from."""
    place = 2 * tubes.edges / tubes.length[:, None] - 1
    order = np.arange(count)
    motions = np.zeros((*place.shape, 2, count))
    motions[..., 0, :] = place[..., None] ** order
    motions[..., 1, 1:] = motions[..., 0, :-1] * order[1:] * (2 / tubes.length[:, None, None])
    return motions.reshape(len(place), -1, count)


def largest_shares(bending: Column, load: Column, motions: Column, count: int) -> Column:
    """Largest y for which load times a motion is y times bending times that motion, descending.

    In each round the loads of some motions bend the beam, and the shares are sought among the
    motions that come of it. Short elements move a million times as fast as the whole; figures of
    that size would drown the slowest motions in rounding, but their shares are the smallest.
    """
    size = len(bending)
    band = np.zeros((_BAND, size))
    for below in range(_BAND):
        band[below, : size - below] = bending.diagonal(-below)
    factor, _ = dpbtrf(band, lower=1)
    pushed, shares = load @ motions, np.zeros(motions.shape[1])
    for _ in range(_ROUNDS):
        before, bent = shares, dpbtrs(factor, pushed, lower=1)[0]
        held, pushed = bent.T @ pushed, load @ bent
        shares, mixed, _ = dsygvd(bent.T @ pushed, held)
        pushed = pushed @ mixed
        if np.all(abs(shares - before)[-count:] <= _EXACT * shares[-count:]):
            break
    return shares[: -count - 1 : -1]


def _rigid(rear: End, front: End) -> int:
    return max(0, 2 - _HELD[rear] - _HELD[front])


def _kept(tubes: Tubes, rear: End, front: End) -> tuple[Any, ...]:
    """Index of the freedoms that the ends leave, in a stack of matrices."""
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
