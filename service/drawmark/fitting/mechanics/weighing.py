"""Mass and balance point of the parts together, and front of centre."""

from __future__ import annotations

from drawmark.fitting.columns import Real
from drawmark.fitting.mechanics.arrow_parts import parts_of
from drawmark.fitting.mechanics.arrow_validation import length_of
from drawmark.fitting.model import Arrow


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
    .. [1] foc-formula
    .. [2] astm-f1435
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
    if balance_point is None:
        mass, moment = weigh(arrow)
        balance_point = moment / mass
    return front_of_centre(length_of(arrow), balance_point)
