"""How much stiffer or weaker an arrow acts after a cut or with another point.

Static spine belongs to the shaft and does not change. The equivalent static spine is the one
that would make the original arrow act like the changed one: with the same first bending
frequency, or with the same critical launch force. The true effect lies between the two, so
they are never averaged.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.fitting.columns import Column
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.limits import TRADE_SPINE_RULE, longer
from drawmark.fitting.mechanics.arrow_parts import (
    CutEnd,
    cut,
    reference_stiffnesses,
    static_spines,
)
from drawmark.fitting.mechanics.arrow_validation import (
    has_stations,
    length_of,
    shaft_of,
    stiffness_missing_from,
    verify,
)
from drawmark.fitting.mechanics.beam import own_length_deflections
from drawmark.fitting.mechanics.both_measures import frequencies_and_forces
from drawmark.fitting.mechanics.launch import launch_load
from drawmark.fitting.mechanics.weighing import front_of_centre, weigh
from drawmark.fitting.model import Arrow
from drawmark.fitting.units import UNITS

MOST_STEPS: Final = 200
MOST_TAPERED_STEPS: Final = 30
"""Cuts of a tapered shaft, each of which is solved by elements of its own."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SpineState:
    """How an arrow acts, compared with the arrow it was made from.

    Parameters
    ----------
    length : float
        Arrow length [m].
    mass : float
        Mass of the parts [kg].
    static_spine : float or None
        Static spine of the tube, as E I; None where a shaft with stations is shorter than the
        span of the test [N m^2].
    first_bending_frequency : float
        Lowest frequency of the free arrow [Hz].
    own_length_deflection : float
        Deflection under 1.94 lb at the middle of a span as long as the arrow [m].
    equivalent_by_vibration : float
        Equivalent static spine by first bending frequency, as E I [N m^2].
    equivalent_by_launch : float
        Equivalent static spine by critical launch force, as E I [N m^2].
    critical_launch_force : float
        Push under which it would buckle [N].
    launch_load : float or None
        Draw weight over critical launch force.
    front_of_centre : float
        Front of centre [%].
    draw_weight_shift : float
        By the trade's rule, how much heavier a bow the length suits [N].
    """

    length: float
    mass: float
    static_spine: float | None
    first_bending_frequency: float
    own_length_deflection: float
    equivalent_by_vibration: float
    equivalent_by_launch: float
    critical_launch_force: float
    launch_load: float | None
    front_of_centre: float
    draw_weight_shift: float


def states(
    arrow: Arrow, changed: Sequence[Arrow], draw_weight: float | None = None
) -> tuple[SpineState, ...]:
    """Compare changed arrows with the arrow they were made from, in one stacked solve.

    Parameters
    ----------
    arrow : Arrow
        The original, of single figures, with length, static spine, mass per length and point
        mass.
    changed : sequence of Arrow
        What was made of it; may hold the original itself.
    draw_weight : float, optional
        Draw weight at the archer's own draw [N].

    Returns
    -------
    tuple of SpineState
        One for each changed arrow, in order.

    Raises
    ------
    FittingError
        Where a needed field is not given, or fields contradict each other.

    References
    ----------
    .. [1] euler-beam
    .. [2] launch-buckling
    .. [3] trade-spine-rule
    """
    every = list({id(one): one for one in (arrow, *changed)}.values())
    for one in every:
        verify(one)
    frequencies, forces = (each.tolist() for each in frequencies_and_forces(every))
    references = reference_stiffnesses(every)
    spines = static_spines(every, references)
    deflections = own_length_deflections(every, references).tolist()
    stated = _stated_spine(arrow)
    length = float(length_of(arrow))

    def state_of(at: int, one: Arrow) -> SpineState:
        mass, moment = weigh(one)
        place = moment / mass if one.balance_point is None else one.balance_point
        frequency, force = frequencies[at], forces[at]
        return SpineState(
            length=float(length_of(one)),
            mass=float(mass),
            static_spine=spines[at],
            first_bending_frequency=frequency,
            own_length_deflection=deflections[at],
            equivalent_by_vibration=stated * (frequency / frequencies[0]) ** 2,
            equivalent_by_launch=stated * force / forces[0],
            critical_launch_force=force,
            launch_load=None if draw_weight is None else float(launch_load(draw_weight, force)),
            front_of_centre=float(front_of_centre(length_of(one), place)),
            draw_weight_shift=(length - float(length_of(one))) * TRADE_SPINE_RULE,
        )

    found = {id(one): state_of(at, one) for at, one in enumerate(every)}
    return tuple([found[id(one)] for one in changed])


def _stated_spine(arrow: Arrow) -> float:
    spine = shaft_of(arrow).static_spine
    if spine is None:
        raise FittingError(*stiffness_missing_from(arrow))
    return float(spine)


def cuts(arrow: Arrow, step: float, to_length: float, end: CutEnd = "front") -> list[Arrow]:
    """Cut an arrow in equal steps, the last one at the length asked for.

    Parameters
    ----------
    arrow : Arrow
        The uncut arrow, of single figures.
    step : float
        Length taken off at each step [m].
    to_length : float
        Arrow length of the last [m].
    end : {"front", "rear"}
        End of the shaft that is cut.

    Returns
    -------
    list of Arrow
        One for each cut, longest first.

    Raises
    ------
    FittingError
        Where a needed field is not given, the last length is not shorter, or the steps are
        too many.
    """
    most = MOST_TAPERED_STEPS if has_stations(arrow) else MOST_STEPS
    lengths = cut_lengths(float(length_of(arrow)), step, to_length, most)
    return [cut(arrow, length, end) for length in lengths]


def cut_lengths(
    length: float, step: float, to_length: float, most: int = MOST_STEPS
) -> list[float]:
    """Lengths of at most so many cuts, the last one as asked for [m]."""
    if longer(to_length, length):
        raise FittingError(
            Fault(path=("changes", "length"), detail="A cut cannot make an arrow longer.")
        )
    if step <= 0 or (length - to_length) / step > most:
        shaft = "" if most == MOST_STEPS else " of a tapered shaft"
        detail = f"This makes more than {most} cuts{shaft}. Take a longer step."
        raise FittingError(Fault(path=("step",), detail=detail))
    lengths = []
    count = 1
    while longer(length - count * step, to_length):
        lengths.append(length - count * step)
        count += 1
    return [*lengths, to_length]


def log_equivalent_spine(
    arrow: Arrow, lengths: Sequence[float] | Column, end: CutEnd = "front"
) -> tuple[Column, Column]:
    """Logarithm of the equivalent static spine at many lengths, by both measures.

    Parameters
    ----------
    arrow : Arrow
        The original, of single figures.
    lengths : sequence of float
        Arrow lengths; longer ones than the original only without stations [m].
    end : {"front", "rear"}
        End of the shaft that is cut.

    Returns
    -------
    tuple of Column
        By first bending frequency and by critical launch force: logarithm of the figure in
        thousandths of an inch (28 in span, 1.94 lb).

    Raises
    ------
    FittingError
        Where a needed field is not given, or fields contradict each other.
    """
    every = [arrow, *(_at_length(arrow, float(length), end) for length in lengths)]
    for one in every:
        verify(one)
    frequencies, forces = frequencies_and_forces(every)
    stated = math.log(float(UNITS["astm"].from_si(_stated_spine(arrow))))
    return (
        stated - 2 * np.log(frequencies[1:] / frequencies[0]),
        stated - np.log(forces[1:] / forces[0]),
    )


def _at_length(arrow: Arrow, length: float, end: CutEnd) -> Arrow:
    if shaft_of(arrow).stations is not None:
        return cut(arrow, length, end)
    return dataclasses.replace(arrow, length=length, mass=None, balance_point=None)
