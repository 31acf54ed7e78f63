"""Which point or which shaft brings an arrow to a total mass, and what else that changes."""

from __future__ import annotations

from typing import Annotated, NotRequired, TypedDict

from drawmark.answers.common.answer_types import FrontOfCentre, Mass, MassPerLength, Number
from drawmark.answers.common.arrow_state import EquivalentSpine, PointMass, point_mass_response
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.arrow_validation import missing_from
from drawmark.fitting.mechanics.point_mass import Solution, with_point_mass
from drawmark.fitting.mechanics.spine import states
from drawmark.fitting.mechanics.total_mass import (
    point_mass_for_total,
    shaft_mass_for_total,
    with_shaft_mass,
)
from drawmark.fitting.mechanics.weighing import front_of_centre_of
from drawmark.fitting.model import Arrow
from drawmark.fitting.units import GRAIN, POUND_FORCE
from drawmark.rules.model import Measure


class ChangedArrow(TypedDict):
    """What else a change brings."""

    front_of_centre: NotRequired[FrontOfCentre]
    equivalent_static_spine: NotRequired[
        Annotated[
            EquivalentSpine,
            "Static spine that the arrow as it is would need to act the same. Given if "
            "`arrow.shaft.static_spine` is. There are two measures. Do not average them.",
        ]
    ]


class ByPoint(ChangedArrow, PointMass):
    """Another point."""


class ByShaft(ChangedArrow):
    """Another shaft of the same static spine."""

    mass_per_length: NotRequired[Annotated[MassPerLength, "Mass per length of the shaft."]]
    note: NotRequired[Annotated[str, "What is unusual about the balance."]]
    reason: NotRequired[Annotated[str, "Why there is none."]]


class ToReachMass(TypedDict):
    """How an arrow comes to a wanted total mass."""

    mass: Annotated[Mass, "Total mass that is wanted."]
    grains_per_pound: NotRequired[
        Annotated[Number, "Grains of it for each pound of draw weight. Given if `draw_weight` is."]
    ]
    by_point: Annotated[ByPoint, "By another point."]
    by_shaft: Annotated[ByShaft, "By another shaft of the same static spine."]


def to_reach_mass_response(
    arrow: Arrow, wanted: float, draw_weight: float | None, warnings: list[str]
) -> ToReachMass:
    """Solve for a point and for a shaft; FittingError where a part is not known."""
    if lacking := missing_from(arrow):
        raise FittingError(*lacking)
    if warnings:
        point = shaft = Solution(reason=warnings[0])
    else:
        point, shaft = point_mass_for_total(arrow, wanted), shaft_mass_for_total(arrow, wanted)
    by_point: ByPoint = {}
    by_point = {**by_point, **point_mass_response(point)}
    if point.value is not None:
        by_point = {**by_point, **_changed_response(arrow, with_point_mass(arrow, point.value))}
    by_shaft: ByShaft = {}
    if shaft.value is None:
        by_shaft["reason"] = shaft.reason or "none"
    else:
        by_shaft["mass_per_length"] = Measure(shaft.value, "mass_per_length")
        by_shaft = {**by_shaft, **_changed_response(arrow, with_shaft_mass(arrow, shaft.value))}
    if shaft.note is not None:
        by_shaft["note"] = shaft.note
    answer: ToReachMass = {
        "mass": Measure(wanted, "mass"),
        "by_point": by_point,
        "by_shaft": by_shaft,
    }
    if draw_weight is not None:
        answer["grains_per_pound"] = Measure(wanted / draw_weight * POUND_FORCE / GRAIN, "number")
    return answer


def _changed_response(arrow: Arrow, changed: Arrow) -> ChangedArrow:
    answer: ChangedArrow = {"front_of_centre": Measure(front_of_centre_of(changed), "percent")}
    if arrow.shaft is None or arrow.shaft.static_spine is None:
        return answer
    (state,) = states(arrow, (changed,))
    answer["equivalent_static_spine"] = {
        "free_vibration": Measure(state.equivalent_by_vibration, "static_spine"),
        "launch": Measure(state.equivalent_by_launch, "static_spine"),
    }
    return answer
