"""How much stiffer or weaker candidates act than a known arrow, by both measures, in columns."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from drawmark.fitting.columns import Column
from drawmark.fitting.mechanics import beam
from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.arrow_validation import has_stations, verify
from drawmark.fitting.mechanics.both_measures import frequencies_and_forces
from drawmark.fitting.mechanics.launch import critical_launch_force
from drawmark.fitting.mechanics.point_mass import with_point_mass
from drawmark.fitting.mechanics.uniform_launch import uniform_launch_force
from drawmark.fitting.mechanics.uniform_vibration import uniform_frequencies
from drawmark.fitting.model import Arrow

MOST_TAPERED: Final = 40
"""Tapered shafts, each of which is solved by elements of its own."""

Measure = Callable[[Column, Column], Column]
"""Lengths [m] and point masses [kg] of the candidates to how much stiffer each acts than the known
arrow: logarithms by frequency and by launch force, two rows."""


def measure_of(arrow: Arrow, candidates: Arrow | Sequence[Arrow]) -> Measure:
    """Make the measure that compares candidates with a known arrow.

    Parameters
    ----------
    arrow : Arrow
        The known arrow, of single figures.
    candidates : Arrow or sequence of Arrow
        Uniform shafts as one arrow with columns, or tapered ones each at its greatest length.

    Returns
    -------
    Measure
        Compares them at lengths and with point masses.

    Raises
    ------
    FittingError
        Where a needed field of the known arrow is not given, or fields contradict each other.

    References
    ----------
    .. [1] euler-beam
    .. [2] launch-buckling
    """
    verify(arrow)
    force = float(critical_launch_force(arrow))
    if isinstance(candidates, Arrow):
        uniform = candidates
        frequency = _frequency(arrow)

        def measure(length: Column, point_mass: Column) -> Column:
            arrows = with_point_mass(dataclasses.replace(uniform, length=length), point_mass)
            return _logarithms(
                uniform_frequencies(arrows) / frequency,
                np.asarray(uniform_launch_force(arrows)) / force,
            )

        return measure
    tapered, by_elements = candidates, beam.first_bending_frequency(arrow)

    def measure_each(length: Column, point_mass: Column) -> Column:
        arrows = [
            with_point_mass(cut(one, each), mass)
            for one, each, mass in zip(tapered, length.tolist(), point_mass.tolist(), strict=True)
        ]
        frequencies, forces = frequencies_and_forces(arrows)
        return _logarithms(frequencies / by_elements, forces / force)

    return measure_each


def _frequency(arrow: Arrow) -> float:
    if has_stations(arrow):
        return beam.first_bending_frequency(arrow)
    return float(uniform_frequencies(arrow)[0])


def _logarithms(frequencies: Column, forces: Column) -> Column:
    return np.stack([2 * np.log(frequencies), np.log(forces)])
