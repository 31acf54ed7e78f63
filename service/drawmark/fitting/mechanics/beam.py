"""Frequencies, bending and buckling of arrows taken as Euler-Bernoulli beams."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

import numpy as np
from scipy.linalg.lapack import dpbtrf, dpbtrs

from drawmark.fitting.columns import Column
from drawmark.fitting.mechanics.arrow_parts import profile_of_each
from drawmark.fitting.mechanics.arrow_validation import length_of, projection_of
from drawmark.fitting.mechanics.elements import (
    bands_of,
    bending_blocks,
    mass_blocks,
    pin_behind,
    push_blocks,
    times,
)
from drawmark.fitting.mechanics.tubes import Tubes, stacks_of
from drawmark.fitting.model import Arrow
from drawmark.fitting.units import ASTM_LOAD

End = Literal["free", "pinned", "clamped"]

# In E I over the shaft's mass times T^3 the first angular frequency squared is 97 to 500.
_SHIFT: Final = 100.0
_SPARE: Final = 4
_ROUNDS: Final = 40
_EXACT: Final = 1e-10
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
    # No figure depends on the shift, but a share hardly tells a frequency that is far below it.
    own = tubes.moments[..., 0].mean(axis=1) * tubes.elements
    shift = _SHIFT * tubes.stiffness / (own * tubes.length**3)
    shares = _shares(tubes, mass_blocks(tubes), shift, rear, front, count)
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
    shares = _shares(tubes, push_blocks(tubes), shift, rear, front, 1)
    return np.asarray(1 / shares[:, 0] - shift)


def _shares(tubes: Tubes, load: Column, shift: Column, rear: End, front: End, count: int) -> Column:
    """1 / (x + shift) for each x at which bending balances x times the load, descending.

    Those of rigid motions are left out.
    """
    bending = bending_blocks(tubes)
    if rear == "pinned":
        bending, load = pin_behind(bending, tubes.nock), pin_behind(load, tubes.nock)
    bending += shift[:, None, None, None] * load
    first, held = _rigid(rear, front), (_HELD[rear], _HELD[front])
    motions = _motions(tubes, first + count + _SPARE)
    motions = motions[..., held[0] : motions.shape[2] - held[1]]
    shares = largest_shares(bands_of(bending, *held), bands_of(load, *held), motions, first + count)
    return shares[:, first:]


def _motions(tubes: Tubes, count: int) -> Column:
    """Powers of the place with their slopes: the motions from which a search starts."""
    place = 2 * tubes.edges / tubes.length[:, None] - 1
    motions = np.zeros((len(place), count, place.shape[1], 2))
    motions[:, 0, :, 0] = 1
    for order in range(1, count):
        motions[:, order, :, 0] = motions[:, order - 1, :, 0] * place
        slope = motions[:, order - 1, :, 0] * (2 * order / tubes.length[:, None])
        motions[:, order, :, 1] = slope
    motions[:, :, -1] = motions[:, :, -1, ::-1]
    return motions.reshape(len(place), count, -1)


def largest_shares(bending: Column, load: Column, motions: Column, count: int) -> Column:
    """Largest y for which load times a motion is y times bending times that motion, descending.

    In each round the loads of some motions bend the beam, and the shares are sought among the
    motions that come of it. Short elements move a million times as fast as the whole; figures of
    that size would drown the slowest motions in rounding, but their shares are the smallest.
    """
    factors = [dpbtrf(band, lower=1)[0] for band in bending]
    pushed = times(load, motions)
    shares, going = np.zeros(motions.shape[:2]), np.ones(len(motions), dtype=np.bool_)
    for _ in range(_ROUNDS):
        solved = zip(factors, pushed, strict=True)
        bent = np.stack([dpbtrs(factor, each.T, lower=1)[0].T for factor, each in solved])
        held, pushed = bent @ pushed.swapaxes(1, 2), times(load, bent)
        lower = np.linalg.inv(np.linalg.cholesky(held))
        found, mixed = np.linalg.eigh(lower @ (bent @ pushed.swapaxes(1, 2)) @ lower.swapaxes(1, 2))
        pushed = mixed.swapaxes(1, 2) @ lower @ pushed
        # What a share still lacks is what it gained, less by the square of its lead.
        sought = found[:, -count:]
        lacking = abs(sought - shares[:, -count:]) * (found[:, :1] / sought) ** 2
        # A tube's figures do not depend on how long the others take.
        shares = np.where(going[:, None], found, shares)
        going &= (lacking > _EXACT * sought).any(axis=1)
        if not going.any():
            break
    return shares[:, : -count - 1 : -1]


def _rigid(rear: End, front: End) -> int:
    return max(0, 2 - _HELD[rear] - _HELD[front])


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
    found = np.empty(len(arrows))
    for places, tubes in stacks_of(arrows):
        found[places] = natural_frequencies(tubes)[:, 0]
    return found


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


def own_length_deflections(arrows: Sequence[Arrow], references: Column) -> Column:
    """Deflections under 1.94 lb at the middle of a span as long as each arrow [m].

    Stations go on beyond the tube as they end, so that the nock's projection counts alike for
    uniform and tapered shafts.

    Parameters
    ----------
    arrows : sequence of Arrow
        Arrows of single figures with length and static spine, all with stations or none.
    references : Column
        Their reference stiffnesses [N m^2].

    Returns
    -------
    Column
        Deflection of each [m].

    References
    ----------
    .. [1] simple-beam
    """
    length = np.array([float(length_of(arrow)) for arrow in arrows])
    deflections = ASTM_LOAD * (length * length * length) / (48 * references)
    profile = profile_of_each(arrows)
    if profile is None:
        return np.asarray(deflections)
    rear = np.array([float(projection_of(arrow)) for arrow in arrows])
    return np.asarray(deflections * profile.flexibility(-rear, length - rear))
