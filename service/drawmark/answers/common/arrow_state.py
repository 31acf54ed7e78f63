"""How an arrow bends and balances at one length, and the point that restores it."""

from __future__ import annotations

from typing import Annotated, NotRequired, TypedDict

from drawmark.answers.common.answer_types import (
    ArrowLength,
    ArrowMass,
    BalanceNote,
    Force,
    Frequency,
    FrontOfCentre,
    LaunchLoad,
    Length,
    StaticSpine,
    ThePointMass,
)
from drawmark.fitting.mechanics.point_mass import Solution
from drawmark.fitting.mechanics.spine import SpineState
from drawmark.rules.model import Measure


class EquivalentSpine(TypedDict):
    """Static spine that would act alike, by each measure of stiffness."""

    free_vibration: Annotated[StaticSpine, "By the frequency of free vibration."]
    launch: Annotated[StaticSpine, "By the critical launch force."]


class ArrowState(TypedDict):
    """An arrow at one length: how it bends, vibrates and balances."""

    length: ArrowLength
    mass: ArrowMass
    first_bending_frequency: Annotated[Frequency, "Frequency of the first free bending vibration."]
    own_length_deflection: Annotated[
        Length,
        "Deflection under a load of 1.94 lb at the middle of a span as long as the arrow.",
    ]
    equivalent_static_spine: Annotated[
        EquivalentSpine,
        "Static spine that an arrow of the original length and masses would need to act the "
        "same. There are two measures. Do not average them.",
    ]
    critical_launch_force: Annotated[Force, "Force on the nock at which the arrow would buckle."]
    front_of_centre: FrontOfCentre
    draw_weight_shift: Annotated[
        Force, "A cross-check by the trade's rule. A positive figure suits a heavier bow."
    ]
    draw_weight_shift_source: Annotated[str, "Key of its source."]
    static_spine: NotRequired[
        Annotated[
            StaticSpine,
            "Static spine of the shaft. A cut does not change it if the shaft is uniform.",
        ]
    ]
    launch_load: NotRequired[LaunchLoad]


class PointMass(TypedDict):
    """A point mass that was solved for, or why there is none."""

    point_mass: NotRequired[ThePointMass]
    note: NotRequired[BalanceNote]
    reason: NotRequired[Annotated[str, "Why there is none."]]


def state_response(state: SpineState) -> ArrowState:
    """Give one state of an arrow."""
    answer: ArrowState = {
        "length": Measure(state.length),
        "mass": Measure(state.mass, "mass"),
        "first_bending_frequency": Measure(state.first_bending_frequency, "frequency"),
        "own_length_deflection": Measure(state.own_length_deflection),
        "equivalent_static_spine": {
            "free_vibration": Measure(state.equivalent_by_vibration, "static_spine"),
            "launch": Measure(state.equivalent_by_launch, "static_spine"),
        },
        "critical_launch_force": Measure(state.critical_launch_force, "force"),
        "front_of_centre": Measure(state.front_of_centre, "percent"),
        "draw_weight_shift": Measure(state.draw_weight_shift, "force"),
        "draw_weight_shift_source": "trade-spine-rule",
    }
    if state.static_spine is not None:
        answer["static_spine"] = Measure(state.static_spine, "static_spine")
    if state.launch_load is not None:
        answer["launch_load"] = Measure(state.launch_load, "number")
    return answer


def point_mass_response(solution: Solution) -> PointMass:
    """Give a point mass that was solved for, or why there is none."""
    if solution.value is None:
        return {"reason": solution.reason or "none"}
    answer: PointMass = {"point_mass": Measure(solution.value, "mass")}
    if solution.note is not None:
        answer["note"] = solution.note
    return answer
