"""Mass, balance and front of centre, from the parts or as measured."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from drawmark.fitting import fields
from drawmark.fitting.columns import Real, maximum
from drawmark.fitting.limits import (
    BALANCE_HIGH,
    BALANCE_LOW,
    LARGEST_POINT_CHANGE,
    POINT_REACH_AHEAD,
    POINT_REACH_BEHIND,
    less,
    more,
)
from drawmark.fitting.model import Arrow, FittingError, Point
from drawmark.fitting.shaft import length_of, missing_from, parts_of

_POINT_MASS = fields.specs_of(Point)["mass"]


@dataclass(frozen=True, slots=True)
class Solution:
    """A mass that was solved for, or why none is given.

    Parameters
    ----------
    value : float or None
        The mass [kg].
    reason : str or None
        Why there is none.
    """

    value: float | None = None
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class Disagreement:
    """How far what was measured lies from what the parts add up to.

    Parameters
    ----------
    mass : Real or None
        Weighed mass less that of the parts, as a share of the weighed mass.
    balance_point : Real or None
        Measured balance point less that of the parts [m].
    """

    mass: Real | None
    balance_point: Real | None


def weigh(arrow: Arrow) -> tuple[Real, Real]:
    """Mass of the parts, and their moment about the bottom of the nock slot.

    Parameters
    ----------
    arrow : Arrow
        Arrow with length, mass per length and point mass.

    Returns
    -------
    tuple of Real
        Mass [kg] and moment [kg m].

    Raises
    ------
    FittingError
        Where one of the three is not given.
    """
    mass: Real = 0.0
    moment: Real = 0.0
    for part in parts_of(arrow):
        mass = mass + part.mass
        moment = moment + part.mass * part.centre
    return mass, moment


def mass_of(arrow: Arrow) -> Real:
    """Mass of the parts together [kg].

    Parameters
    ----------
    arrow : Arrow
        Arrow with length, mass per length and point mass.

    Returns
    -------
    Real
        Mass [kg].

    Raises
    ------
    FittingError
        Where one of the three is not given.
    """
    return weigh(arrow)[0]


def balance_point_of(arrow: Arrow) -> Real:
    """Balance point of the parts, from the bottom of the nock slot [m].

    Parameters
    ----------
    arrow : Arrow
        Arrow with length, mass per length and point mass.

    Returns
    -------
    Real
        Balance point [m].

    Raises
    ------
    FittingError
        Where one of the three is not given.
    """
    mass, moment = weigh(arrow)
    return moment / mass


def front_of_centre(length: Real, balance_point: Real) -> Real:
    """Front of centre [%].

    Parameters
    ----------
    length : Real
        Arrow length [m].
    balance_point : Real
        Balance point of the whole arrow, from the bottom of the nock slot [m].

    Returns
    -------
    Real
        How far the balance point lies ahead of the middle, in per cent of the length.

    References
    ----------
    1. foc-formula
    2. astm-f1435
    """
    return 100 * (balance_point - length * 0.5) / length


def front_of_centre_of(arrow: Arrow) -> Real:
    """Front of centre of an arrow, from its measured balance point or else its parts [%].

    Parameters
    ----------
    arrow : Arrow
        Arrow with a length, and a measured balance point or its parts.

    Returns
    -------
    Real
        Front of centre [%].

    Raises
    ------
    FittingError
        Where neither can be had.
    """
    balance_point = arrow.balance_point
    return front_of_centre(
        length_of(arrow), balance_point_of(arrow) if balance_point is None else balance_point
    )


def front_of_centre_range(arrow: Arrow) -> tuple[Real, Real]:
    """Least and greatest front of centre that the description allows [%].

    Where the centre of the point's mass was not given it may lie anywhere in the point: from
    the rear of its shank or collar to its tip, each where given, else 40 mm behind the end of
    the shaft to 25 mm ahead of it.

    Parameters
    ----------
    arrow : Arrow
        Arrow with a length, and a measured balance point or its parts.

    Returns
    -------
    tuple of Real
        Two figures, the same where balance point or point centre is given [%].

    Raises
    ------
    FittingError
        Where neither balance point nor parts are given.
    """
    point = arrow.point
    if arrow.balance_point is not None or point is None or point.centre is not None:
        only = front_of_centre_of(arrow)
        return only, only
    if point.shank_length is not None and point.sleeve_length is not None:
        behind = maximum(point.shank_length, point.sleeve_length)
    elif point.shank_length is not None:
        behind = point.shank_length
    else:
        behind = POINT_REACH_BEHIND
    ahead = POINT_REACH_AHEAD if point.exposed_length is None else point.exposed_length
    low, high = (
        front_of_centre_of(
            dataclasses.replace(arrow, point=dataclasses.replace(point, centre=centre))
        )
        for centre in (0.0 - behind, ahead)
    )
    return low, high


def disagreement_of(arrow: Arrow) -> Disagreement:
    """Compare the weighed mass and the measured balance point with the parts.

    Parameters
    ----------
    arrow : Arrow
        Arrow; what is not measured, or has no parts to compare with, gives None.

    Returns
    -------
    Disagreement
        Differences, to be held against MASS_DISAGREEMENT and BALANCE_DISAGREEMENT.
    """
    if (arrow.mass is None and arrow.balance_point is None) or missing_from(arrow):
        return Disagreement(None, None)
    mass, moment = weigh(arrow)
    return Disagreement(
        None if arrow.mass is None else (arrow.mass - mass) / arrow.mass,
        None if arrow.balance_point is None else arrow.balance_point - moment / mass,
    )


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
        The mass, or why none is given: above twice the present one, outside the common band
        of balance, or impossible.

    Raises
    ------
    FittingError
        Where a needed field is not given.

    References
    ----------
    1. foc-formula
    2. balance-range
    """
    if less(wanted, BALANCE_LOW) or more(wanted, BALANCE_HIGH):
        return Solution(reason=_outside_band(wanted))
    length = float(length_of(arrow))
    parts = parts_of(arrow)
    centre = next(float(part.centre) for part in parts if part.name == "point")
    mass = sum(float(part.mass) for part in parts if part.name != "point")
    moment = sum(float(part.mass * part.centre) for part in parts if part.name != "point")
    balance_point = length * (0.5 + wanted / 100)
    if centre <= balance_point:
        return Solution(reason="the point lies behind the wanted balance point")
    return judge_point(arrow, (balance_point * mass - moment) / (centre - balance_point), available)


def judge_point(arrow: Arrow, mass: float, available: Sequence[float] | None = None) -> Solution:
    """Give a solved point mass, or refuse it with the reason.

    Parameters
    ----------
    arrow : Arrow
        Arrow with its present point, of the length it shall have.
    mass : float
        Solved mass [kg].
    available : sequence of float, optional
        Point masses that can be bought; the nearest is taken [kg].

    Returns
    -------
    Solution
        The mass, or why none is given.
    """
    present = float(arrow.point.mass) if arrow.point and arrow.point.mass is not None else 0.0
    if mass < 0:
        return Solution(reason="even without a point the arrow is past what is wanted")
    if available:
        mass = min(available, key=lambda choice: (abs(choice - mass), choice))
    if more(mass, LARGEST_POINT_CHANGE * present):
        return Solution(reason="more than twice the present mass of the point would be needed")
    if more(mass, _POINT_MASS.high):
        return Solution(reason="a heavier point than any that is accepted here would be needed")
    balance = front_of_centre_of(with_point_mass(arrow, mass))
    if less(balance, BALANCE_LOW) or more(balance, BALANCE_HIGH):
        return Solution(reason=_outside_band(float(balance)))
    return Solution(value=mass)


def _outside_band(balance: float) -> str:
    return (
        f"front of centre {balance:.1f} % lies outside the common band, "
        f"{BALANCE_LOW:g} to {BALANCE_HIGH:g} %"
    )
