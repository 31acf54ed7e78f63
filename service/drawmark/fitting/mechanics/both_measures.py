"""The two measures of how stiff an arrow acts: by free vibration and by the launch."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from drawmark.fitting.columns import Column
from drawmark.fitting.mechanics import beam
from drawmark.fitting.mechanics.arrow_validation import has_stations
from drawmark.fitting.mechanics.launch import critical_launch_force
from drawmark.fitting.mechanics.tubes import stacks_of
from drawmark.fitting.model import Arrow


def frequencies_and_forces(arrows: Sequence[Arrow]) -> tuple[Column, Column]:
    """First bending frequency and critical launch force of arrows.

    Parameters
    ----------
    arrows : sequence of Arrow
        Arrows of single figures with length, static spine, mass per length and point mass, all
        with stations or none.

    Returns
    -------
    tuple of Column
        Frequencies [Hz] and forces [N].

    Raises
    ------
    FittingError
        Where one of the four is not given, or a shaft with stations cannot be tested.

    References
    ----------
    .. [1] euler-beam
    .. [2] launch-buckling
    """
    if not has_stations(arrows[0]):
        forces = np.array([critical_launch_force(arrow) for arrow in arrows], dtype=float)
        return beam.frequencies(arrows), forces
    frequencies, forces = np.empty(len(arrows)), np.empty(len(arrows))
    for places, tubes in stacks_of(arrows):
        frequencies[places] = beam.natural_frequencies(tubes)[:, 0]
        forces[places] = beam.buckling_forces(tubes)
    return frequencies, forces
