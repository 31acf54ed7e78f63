"""How an arrow bends and balances at one length, and the point that restores it."""

from __future__ import annotations

from drawmark.answers.common.context import Answer
from drawmark.fitting.mechanics.point_mass import Solution
from drawmark.fitting.mechanics.spine import SpineState
from drawmark.rules.model import Measure


def state_response(state: SpineState) -> Answer:
    """Give one state of an arrow."""
    answer: Answer = {
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


def solution_response(solution: Solution) -> Answer:
    """Give a point mass that was solved for, or why there is none."""
    if solution.value is None:
        return {"reason": solution.reason or "none"}
    answer: Answer = {"point_mass": Measure(solution.value, "mass")}
    if solution.reason:
        answer["reason"] = solution.reason
    return answer
