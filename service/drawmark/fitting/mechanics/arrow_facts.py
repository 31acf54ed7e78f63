"""The figures of an arrow that rules start from: mass, balance and critical launch force."""

from __future__ import annotations

import msgspec

from drawmark.fitting.columns import Real
from drawmark.fitting.mechanics.arrow_validation import missing_from, stiffness_missing_from
from drawmark.fitting.mechanics.launch import critical_launch_force
from drawmark.fitting.mechanics.weighing import front_of_centre, weigh
from drawmark.fitting.model import Arrow


class ArrowFacts(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Figures of an arrow that are the same whoever draws it, and however far.

    Parameters
    ----------
    arrow_mass : float, column or None
        Mass of the whole arrow, weighed or else summed [kg].
    front_of_centre : float, column or None
        Front of centre, measured or else from the parts [%].
    launch_force : float, column or None
        Critical launch force [N].
    """

    arrow_mass: Real | None = None
    front_of_centre: Real | None = None
    launch_force: Real | None = None


def arrow_facts_of(arrow: Arrow, *, pushed: bool = True) -> ArrowFacts:
    """Work out the figures of an arrow.

    Parameters
    ----------
    arrow : Arrow
        What is known of the arrow, without contradictions [SI].
    pushed : bool
        Work out the critical launch force too.

    Returns
    -------
    ArrowFacts
        The figures; those whose fields were not given are None.
    """
    length = arrow.length
    if length is None:
        return ArrowFacts(arrow_mass=arrow.mass)
    whole = not missing_from(arrow)
    mass, moment = weigh(arrow) if whole else (None, None)
    place = arrow.balance_point
    if place is None and mass is not None and moment is not None:
        place = moment / mass
    pushed = pushed and whole and not stiffness_missing_from(arrow)
    return ArrowFacts(
        arrow_mass=mass if arrow.mass is None else arrow.mass,
        front_of_centre=None if place is None else front_of_centre(length, place),
        launch_force=critical_launch_force(arrow) if pushed else None,
    )
