"""The figures of an arrow that rules start from: mass, balance and critical launch force."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
from msgspec.structs import replace

from drawmark.deadline import deadline
from drawmark.fitting.columns import Real
from drawmark.fitting.mechanics.arrow_validation import (
    has_stations,
    missing_from,
    stiffness_missing_from,
)
from drawmark.fitting.mechanics.launch import critical_launch_force, critical_launch_forces
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


def arrow_facts_of_each(arrows: Sequence[Arrow]) -> list[ArrowFacts]:
    """Work out the figures of many arrows, tapered shafts in stacks.

    Parameters
    ----------
    arrows : sequence of Arrow
        Arrows of single figures, without contradictions [SI].

    Returns
    -------
    list of ArrowFacts
        The figures of each.
    """
    known = []
    for arrow in arrows:
        deadline.check()
        known.append(arrow_facts_of(arrow, pushed=not has_stations(arrow)))
    tapered = [
        at
        for at, arrow in enumerate(arrows)
        if has_stations(arrow) and not stiffness_missing_from(arrow)
    ]
    forces = critical_launch_forces([arrows[at] for at in tapered])
    for at, force in zip(tapered, forces, strict=True):
        known[at] = replace(known[at], launch_force=float(force))
    return known
