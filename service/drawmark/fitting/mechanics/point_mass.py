"""Point masses that restore or balance an arrow, or the reason why none will do."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.fitting import fields
from drawmark.fitting.columns import Real
from drawmark.fitting.faults import FittingError
from drawmark.fitting.limits import (
    BALANCE_HIGH,
    BALANCE_LOW,
    LARGEST_POINT_CHANGE,
    RELATIVE_TOLERANCE,
    less,
    more,
)
from drawmark.fitting.mechanics import beam
from drawmark.fitting.mechanics.arrow_parts import parts_of
from drawmark.fitting.mechanics.arrow_validation import (
    has_stations,
    length_of,
    missing_from,
    verify,
)
from drawmark.fitting.mechanics.both_measures import frequencies_and_forces
from drawmark.fitting.mechanics.launch import critical_launch_force
from drawmark.fitting.mechanics.tubes import carrying_points, tubes_of
from drawmark.fitting.mechanics.weighing import front_of_centre_of
from drawmark.fitting.model import Arrow, Point

_POINT_MASS = fields.quantity_of(Point, "mass")
_TOO_MUCH: Final = "It would take a point more than twice as heavy as the present one."


@dataclass(frozen=True, slots=True)
class Solution:
    """A mass that was solved for, or why none is given.

    Parameters
    ----------
    value : float or None
        The mass [kg].
    reason : str or None
        Why there is none.
    note : str or None
        What is unusual about the arrow with this mass.
    """

    value: float | None = None
    reason: str | None = None
    note: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Restoring:
    """Point masses that bring a changed arrow back to how the original acts.

    Parameters
    ----------
    free_vibration : Solution
        By first bending frequency.
    launch : Solution
        By critical launch force.
    """

    free_vibration: Solution
    launch: Solution


def with_point_mass(arrow: Arrow, mass: Real) -> Arrow:
    """The same arrow with another point mass, nothing measured on it [kg]."""
    if arrow.point is None:
        raise FittingError(*missing_from(arrow))
    point = dataclasses.replace(arrow.point, mass=mass)
    return dataclasses.replace(arrow, point=point, mass=None, balance_point=None)


def point_mass_for(
    arrow: Arrow, wanted: float, available: Sequence[float] | None = None
) -> Solution:
    """Point mass that brings an arrow of single figures to a wanted front of centre.

    Parameters
    ----------
    arrow : Arrow
        Arrow with length, mass per length and point mass; a cut arrow asks for its own.
    wanted : float
        Front of centre [%].
    available : sequence of float, optional
        Point masses that can be bought; the nearest is taken [kg].

    Returns
    -------
    Solution
        The mass, or why none is given: above twice the present one, or impossible. An unusual
        balance is noted.

    Raises
    ------
    FittingError
        Where a needed field is not given.

    References
    ----------
    .. [1] foc-formula
    .. [2] balance-range
    """
    length = float(length_of(arrow))
    parts = parts_of(arrow)
    centre = next(float(part.centre) for part in parts if part.name == "point")
    mass = sum(float(part.mass) for part in parts if part.name != "point")
    moment = sum(float(part.mass * part.centre) for part in parts if part.name != "point")
    balance_point = length * (0.5 + wanted / 100)
    if centre <= balance_point:
        return Solution(
            reason="The point lies behind the wanted balance point, so no mass of it will do."
        )
    return checked_point_mass(
        arrow, (balance_point * mass - moment) / (centre - balance_point), available
    )


def checked_point_mass(
    arrow: Arrow, mass: float, available: Sequence[float] | None = None
) -> Solution:
    """Give a solved mass, or the nearest that can be bought, or the reason against it."""
    reason = _refusal(arrow, mass)
    if reason is None and available:
        mass = min(available, key=lambda choice: (abs(choice - mass), choice))
        reason = _refusal(arrow, mass)
    if reason is not None:
        return Solution(reason=reason)
    balance = front_of_centre_of(with_point_mass(arrow, mass))
    return Solution(mass, note=unusual_balance(float(balance)))


def _refusal(arrow: Arrow, mass: float) -> str | None:
    present = float(arrow.point.mass) if arrow.point and arrow.point.mass is not None else 0.0
    if mass < 0:
        return "Even without a point the arrow is past what is wanted."
    if more(mass, LARGEST_POINT_CHANGE * present):
        return _TOO_MUCH
    if more(mass, _POINT_MASS.high):
        return "It would take a heavier point than any accepted here."
    return None


def unusual_balance(balance: float) -> str | None:
    """Say that a front of centre [%] lies outside the usual range; None within it."""
    if not less(balance, BALANCE_LOW) and not more(balance, BALANCE_HIGH):
        return None
    if balance < 0:
        return (
            f"Front of centre is then {balance:.1f} %: the arrow balances behind its middle. Take "
            "a heavier point."
        )
    return (
        f"Front of centre is then {balance:.1f} %, outside the usual {BALANCE_LOW:g} to "
        f"{BALANCE_HIGH:g} %. That is no fault."
    )


def restoring_point_mass(
    arrow: Arrow, changed: Arrow, available: Sequence[float] | None = None
) -> Restoring:
    """Point masses with which a changed arrow acts as the original does, by both measures.

    Parameters
    ----------
    arrow : Arrow
        The original, of single figures.
    changed : Arrow
        What was made of it, with its present point.
    available : sequence of float, optional
        Point masses that can be bought; the nearest is taken [kg].

    Returns
    -------
    Restoring
        A mass by each measure, or why none is given: above twice the present mass, or
        impossible. An unusual balance is noted.

    Raises
    ------
    FittingError
        Where a needed field is not given, or fields contradict each other.

    References
    ----------
    .. [1] euler-beam
    .. [2] launch-buckling
    .. [3] balance-range
    """
    verify(arrow)
    verify(changed)
    # Elements do not depend on the point, so all masses that are tried share them.
    tube = tubes_of((changed,))

    def frequencies(masses: Sequence[float]) -> list[float]:
        return list(beam.natural_frequencies(carrying_points(tube, masses))[:, 0].tolist())

    def forces(masses: Sequence[float]) -> list[float]:
        if not has_stations(changed):
            return [float(critical_launch_force(with_point_mass(changed, one))) for one in masses]
        return list(beam.buckling_forces(carrying_points(tube, masses)).tolist())

    def solve(measure: Callable[[Sequence[float]], list[float]], wanted: float) -> Solution:
        return _solve(
            changed, lambda *masses: [one / wanted - 1 for one in measure(masses)], available
        )

    (frequency,), (force,) = frequencies_and_forces((arrow,))
    return Restoring(
        free_vibration=solve(frequencies, float(frequency)), launch=solve(forces, float(force))
    )


def _solve(
    arrow: Arrow, excess: Callable[..., list[float]], available: Sequence[float] | None
) -> Solution:
    """Find the mass at which an excess, which falls with mass, is zero."""
    assert arrow.point is not None
    assert arrow.point.mass is not None
    mass = float(arrow.point.mass)
    low, high = 0.0, LARGEST_POINT_CHANGE * mass
    tried = [low, high, mass]
    found = excess(*tried)
    if found[0] < -RELATIVE_TOLERANCE:
        return Solution(reason="Even without a point the arrow acts weaker than before.")
    if found[1] > RELATIVE_TOLERANCE:
        return Solution(reason=_TOO_MUCH)
    for _ in range(60):
        if abs(found[-1]) < RELATIVE_TOLERANCE or high - low < RELATIVE_TOLERANCE * high:
            break
        low, high = (mass, high) if found[-1] > 0 else (low, mass)
        mass = _interpolated(found, tried)
        if not low < mass < high:
            mass = (low + high) / 2
        tried.append(mass)
        found += excess(mass)
    return checked_point_mass(arrow, mass, available)


def _interpolated(excess: Sequence[float], masses: Sequence[float]) -> float:
    """Mass without excess on the curve mass = a + (b + c mass) excess + ... through all tried.

    To one bending motion the point's mass gives such a curve, of three terms; more motions bend it.
    """
    above, mass = np.array(excess), np.array(masses)
    terms = [
        above ** ((term + 1) // 2) * (mass if term and not term % 2 else 1.0)
        for term in range(mass.size)
    ]
    try:
        return float(np.linalg.solve(np.stack(terms, axis=1), mass)[0])
    except np.linalg.LinAlgError:
        return math.nan
