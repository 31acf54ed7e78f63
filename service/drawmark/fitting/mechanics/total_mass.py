"""Masses of point or shaft that bring an arrow to a total mass, or the reason why none will do."""

from __future__ import annotations

import dataclasses
from typing import Final

from drawmark.fitting import fields
from drawmark.fitting.limits import LARGEST_POINT_CHANGE, less, more
from drawmark.fitting.mechanics.arrow_parts import parts_of
from drawmark.fitting.mechanics.point_mass import Solution, checked_point_mass, unusual_balance
from drawmark.fitting.mechanics.weighing import front_of_centre_of, weigh
from drawmark.fitting.model import Arrow, Shaft

_SHAFT_MASS = fields.quantity_of(Shaft, "mass_per_length")
_TOO_HEAVY: Final = "It would take a shaft more than twice as heavy, or heavier than any accepted."


def point_mass_for_total(arrow: Arrow, wanted: float) -> Solution:
    """Point mass that brings the whole arrow to a wanted mass.

    Parameters
    ----------
    arrow : Arrow
        Arrow with length, mass per length and point mass [kg].
    wanted : float
        Mass of the whole arrow [kg].

    Returns
    -------
    Solution
        The mass, or why none is given: above twice the present one, or impossible.
    """
    assert arrow.point is not None
    present = 0.0 if arrow.point.mass is None else float(arrow.point.mass)
    return checked_point_mass(arrow, present + wanted - _mass_of(arrow))


def shaft_mass_for_total(arrow: Arrow, wanted: float) -> Solution:
    """Mass per length of another shaft that brings the whole arrow to a wanted mass.

    Parameters
    ----------
    arrow : Arrow
        Arrow with length, mass per length and point mass [kg].
    wanted : float
        Mass of the whole arrow [kg].

    Returns
    -------
    Solution
        The mass per length [kg/m], or why none is given: above twice the present one, or
        impossible.
    """
    assert arrow.shaft is not None
    assert arrow.shaft.mass_per_length is not None
    present = float(arrow.shaft.mass_per_length)
    tube = next(float(part.mass) for part in parts_of(arrow) if part.name == "shaft")
    found = present * (1 + (wanted - _mass_of(arrow)) / tube)
    if less(found, _SHAFT_MASS.low):
        return Solution(reason="It would take a lighter shaft than any accepted here.")
    if more(found, min(LARGEST_POINT_CHANGE * present, _SHAFT_MASS.high)):
        return Solution(reason=_TOO_HEAVY)
    balance = float(front_of_centre_of(with_shaft_mass(arrow, found)))
    return Solution(value=found, note=unusual_balance(balance))


def with_shaft_mass(arrow: Arrow, mass_per_length: float) -> Arrow:
    """The same arrow with a shaft of another mass per length, nothing measured on it [kg/m]."""
    assert arrow.shaft is not None
    shaft = dataclasses.replace(arrow.shaft, mass_per_length=mass_per_length)
    return dataclasses.replace(arrow, shaft=shaft, mass=None, balance_point=None)


def _mass_of(arrow: Arrow) -> float:
    return float(weigh(arrow)[0] if arrow.mass is None else arrow.mass)
