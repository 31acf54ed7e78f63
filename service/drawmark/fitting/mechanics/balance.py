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
    REAR_PARTS_EDGE,
    REAR_PARTS_LENGTH,
    REAR_PARTS_NOCK,
    REAR_PARTS_VANES,
    longer,
    more,
)
from drawmark.fitting.mechanics.arrow_validation import missing_from
from drawmark.fitting.mechanics.weighing import front_of_centre_of, weigh
from drawmark.fitting.model import Arrow, Fletching, Nock, Point


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
    the shaft to 25 mm ahead of it. A nock or vanes whose mass was not given may weigh nothing,
    or as much as is usual.

    Parameters
    ----------
    arrow : Arrow
        Arrow with a length, and a measured balance point or its parts.

    Returns
    -------
    tuple of Real
        Two figures, the same where the balance point or all of these are given [%].

    Raises
    ------
    FittingError
        Where neither balance point nor parts are given.

    References
    ----------
    .. [1] rear-parts
    """
    if arrow.balance_point is not None or arrow.point is None:
        only = front_of_centre_of(arrow)
        return only, only
    behind, ahead = _reach_of(arrow.point)
    return (
        front_of_centre_of(_with_centre(_with_rear_parts(arrow), behind)),
        front_of_centre_of(_with_centre(arrow, ahead)),
    )


def _reach_of(point: Point) -> tuple[Real, Real]:
    """Between which places, from the shaft's end, the centre of a point's mass lies [m]."""
    if point.centre is not None:
        return point.centre, point.centre
    if point.shank_length is not None and point.sleeve_length is not None:
        behind = maximum(point.shank_length, point.sleeve_length)
    elif point.shank_length is not None:
        behind = point.shank_length
    else:
        behind = POINT_REACH_BEHIND
    ahead = POINT_REACH_AHEAD if point.exposed_length is None else point.exposed_length
    return 0.0 - behind, ahead


def _with_centre(arrow: Arrow, centre: Real) -> Arrow:
    assert arrow.point is not None
    return dataclasses.replace(arrow, point=dataclasses.replace(arrow.point, centre=centre))


def _with_rear_parts(arrow: Arrow) -> Arrow:
    """The same arrow with the heaviest usual nock and vanes, where their masses are not told."""
    nock, vanes = arrow.nock, arrow.fletching
    if nock is None or nock.mass is None:
        arrow = dataclasses.replace(
            arrow, nock=dataclasses.replace(nock or Nock(), mass=REAR_PARTS_NOCK)
        )
    if vanes is None or vanes.mass is None:
        given = vanes or Fletching()
        edge, length = given.rear_edge, given.length
        usual = Fletching(
            mass=REAR_PARTS_VANES,
            rear_edge=REAR_PARTS_EDGE if edge is None else edge,
            length=REAR_PARTS_LENGTH if length is None else length,
        )
        arrow = dataclasses.replace(arrow, fletching=usual)
    return arrow


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
