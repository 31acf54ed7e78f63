"""The push at the nock under which an arrow, held back by its own masses, would buckle.

The tube is held sideways at its front end and at the bottom of the nock slot, where the string
pushes. Under a push P the compression at a place is P times the share of the whole mass that lies
ahead of it. A point whose mass lies ahead of the tube sits on a rigid arm that turns with the
tube's front end; it adds its share times the arm's length times the square of the slope there to
the work. The nock is such an arm behind, as long as its projection. Pushed at the tube's rear end
an arrow would seem 4 % too strong with a projection of 12 mm, 10 % with 28 mm.

A uniform tube is solved in sine functions, one with stations by elements.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from drawmark.fitting import limits
from drawmark.fitting.columns import Column, Real
from drawmark.fitting.mechanics.beam import buckling_forces
from drawmark.fitting.mechanics.tubes import stacks_of
from drawmark.fitting.mechanics.uniform_launch import uniform_launch_force
from drawmark.fitting.model import Arrow, Shaft


def critical_launch_force(arrow: Arrow) -> Real:
    """Push at the nock under which the arrow would buckle [N].

    Parameters
    ----------
    arrow : Arrow
        Arrow with length, static spine, mass per length and point mass.

    Returns
    -------
    Real
        Critical launch force [N].

    Raises
    ------
    FittingError
        Where one of the four is not given.

    References
    ----------
    .. [1] launch-buckling
    """
    if arrow.shaft is not None and arrow.shaft.stations is not None:
        return float(critical_launch_forces((arrow,))[0])
    return uniform_launch_force(arrow)


def critical_launch_forces(arrows: Sequence[Arrow]) -> Column:
    """Push at the nock under which each of many arrows would buckle, by elements [N].

    Parameters
    ----------
    arrows : sequence of Arrow
        Arrows of single figures, as for `critical_launch_force`.

    Returns
    -------
    Column
        Critical launch force of each [N].

    Raises
    ------
    FittingError
        Where a needed field is not given, or a shaft with stations cannot be tested.

    References
    ----------
    .. [1] launch-buckling
    """
    forces = np.empty(len(arrows))
    for places, tubes in stacks_of(arrows):
        forces[places] = buckling_forces(tubes)
    return forces


def launch_load(draw_weight: Real, force: Real) -> Real:
    """Draw weight over critical launch force.

    Parameters
    ----------
    draw_weight : Real
        Draw weight at the archer's own draw [N].
    force : Real
        Critical launch force [N].

    Returns
    -------
    Real
        Their ratio; above 1 is normal, since the push is short.
    """
    return draw_weight / force


def launch_load_limits(shaft: Shaft | None) -> tuple[float, float]:
    """Give the launch loads above which a shaft is doubtful, and above which it may break.

    Parameters
    ----------
    shaft : Shaft or None
        Its material tells: wooden shafts are shot every day at loads that are doubtful in others.

    Returns
    -------
    tuple of float
        Limit of the caution, limit of the stop.

    References
    ----------
    .. [1] project-launch-load
    """
    if shaft is not None and shaft.material == "wood":
        return limits.LAUNCH_LOAD_CAUTION_WOOD, limits.LAUNCH_LOAD_STOP_WOOD
    return limits.LAUNCH_LOAD_CAUTION, limits.LAUNCH_LOAD_STOP
