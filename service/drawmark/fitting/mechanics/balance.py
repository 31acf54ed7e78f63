"""The range of an arrow's balance, and measured figures against those of the parts."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from drawmark.fitting.columns import Real, Truth, absolute, maximum
from drawmark.fitting.limits import (
    BALANCE_DISAGREEMENT,
    MASS_DISAGREEMENT,
    POINT_REACH_AHEAD,
    POINT_REACH_BEHIND,
    longer,
    more,
)
from drawmark.fitting.mechanics.arrow_validation import missing_from
from drawmark.fitting.mechanics.weighing import front_of_centre_of, weigh
from drawmark.fitting.model import Arrow


@dataclass(frozen=True, slots=True)
class Disagreement:
    """How far the measured figures lie from those of the parts.

    Parameters
    ----------
    mass : Real or None
        Weighed mass less that of the parts, as a share of the weighed mass.
    balance_point : Real or None
        Measured balance point less that of the parts [m].
    """

    mass: Real | None
    balance_point: Real | None

    @property
    def in_mass(self) -> Truth:
        """Tell whether the weighed mass contradicts the parts."""
        return self.mass is not None and more(absolute(self.mass), MASS_DISAGREEMENT)

    @property
    def in_balance(self) -> Truth:
        """Tell whether the measured balance point contradicts the parts."""
        return self.balance_point is not None and longer(
            absolute(self.balance_point), BALANCE_DISAGREEMENT
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
