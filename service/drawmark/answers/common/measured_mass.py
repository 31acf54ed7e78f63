"""Measured mass and balance of an arrow: compared with its parts, carried over a cut."""

from __future__ import annotations

import dataclasses

from drawmark.fitting.mechanics.arrow_validation import missing_from
from drawmark.fitting.mechanics.balance import disagreement_of
from drawmark.fitting.mechanics.weighing import weigh
from drawmark.fitting.model import Arrow

MASS = "The weighed mass contradicts the sum of the parts. Check both."
BALANCE = "The measured balance point contradicts the parts. Check both."


def contradictions_of(arrow: Arrow) -> list[str]:
    """Say where a measured figure contradicts the parts by more than the tolerance."""
    disagreement = disagreement_of(arrow)
    return [
        *([MASS] if disagreement.in_mass else []),
        *([BALANCE] if disagreement.in_balance else []),
    ]


def carry_over(arrow: Arrow, after: Arrow) -> Arrow:
    """Give an arrow, as a cut leaves it, the measured figures less what the saw took."""
    if missing_from(arrow) or (arrow.mass is None and arrow.balance_point is None):
        return after
    (mass, moment), (left, left_moment) = weigh(arrow), weigh(after)
    whole = mass if arrow.mass is None else arrow.mass
    balance = moment / mass if arrow.balance_point is None else arrow.balance_point
    remains = whole - (mass - left)
    place = (whole * balance - (moment - left_moment)) / remains
    return dataclasses.replace(
        after,
        mass=None if arrow.mass is None else remains,
        balance_point=None if arrow.balance_point is None else place,
    )


def parts_alone(arrow: Arrow) -> Arrow:
    """Leave out what was measured of the whole."""
    if arrow.mass is None and arrow.balance_point is None:
        return arrow
    return dataclasses.replace(arrow, mass=None, balance_point=None)
