"""What a cut or another point does to an arrow's stiffness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, NotRequired, TypedDict

from drawmark.answers.common import cautions
from drawmark.answers.common.arrow_state import (
    ArrowState,
    PointMass,
    point_mass_response,
    state_response,
)
from drawmark.answers.common.common_response import CommonWithoutRules, NotChecked, engine_response
from drawmark.answers.common.context import Context
from drawmark.answers.common.derivation import (
    Assumption,
    Assumptions,
    FigureSources,
    assumptions_response,
    sources_response,
)
from drawmark.answers.common.measured_mass import contradictions_of, parts_alone
from drawmark.fitting import fields, limits
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.limits import longer, shorter
from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.launch import launch_load_limits
from drawmark.fitting.mechanics.point_mass import restoring_point_mass, with_point_mass
from drawmark.fitting.mechanics.spine import (
    MOST_STEPS,
    MOST_TAPERED_STEPS,
    SpineState,
    cuts,
    states,
)
from drawmark.fitting.model import Arrow, Bow

_SOURCES = (
    ("static_spine", "astm-f2031"),
    ("first_bending_frequency", "euler-beam"),
    ("equivalent_static_spine.free_vibration", "euler-beam"),
    ("own_length_deflection", "simple-beam"),
    ("critical_launch_force", "launch-buckling"),
    ("equivalent_static_spine.launch", "launch-buckling"),
    ("launch_load", "project-launch-load"),
    ("front_of_centre", "foc-formula"),
    ("draw_weight_shift", "trade-spine-rule"),
)
NEEDS = (
    "arrow.length",
    "arrow.shaft.static_spine",
    "arrow.shaft.mass_per_length",
    "arrow.point.mass",
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Changes:
    """What is changed."""

    length: float | None = fields.length(0.30, 1.20, "Arrow length after a cut.", default=None)
    point_mass: float | None = fields.mass(0.0, 0.04, "Mass of another point.", default=None)


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The arrow, what is changed, and the bow for its draw weight."""

    arrow: Arrow = fields.part(Arrow, "The arrow as it is.")
    bow: Bow | None = fields.part(Bow, "The bow, for its draw weight.", default=None)
    changes: Changes | None = fields.part(Changes, "What is changed.", default=None)
    step: float | None = fields.length(
        0.001,
        0.2,
        "Step of a table of cuts down to the changed length. A table has at most "
        f"{MOST_STEPS} cuts, and {MOST_TAPERED_STEPS} of a tapered shaft.",
        default=None,
    )
    cut_end: str = fields.choice(("front", "rear"), "End that is cut.", default="front")
    available_points: tuple[float, ...] | None = fields.quantity(
        "mass", 0.0, 0.04, "Point masses that can be bought.", default=None, fewest=1, most=50
    )


class RestoringPoints(TypedDict):
    """Points that restore the equivalent spine, by each measure of stiffness."""

    free_vibration: Annotated[PointMass, "By the frequency of free vibration."]
    launch: Annotated[PointMass, "By the critical launch force."]


class SpineTable(TypedDict):
    """What more is known of a change."""

    steps: NotRequired[Annotated[list[ArrowState], "The arrow after each cut."]]
    restoring_point_mass: NotRequired[
        Annotated[
            RestoringPoints,
            "Point mass that gives the changed arrow its former equivalent spine.",
        ]
    ]


class SpineAnswer(SpineTable, CommonWithoutRules):
    """The arrow's stiffness before and after a change."""

    before: Annotated[ArrowState, "The arrow as it is."]
    after: Annotated[ArrowState, "The arrow after the change."]
    assumptions: Assumptions
    derivation: FigureSources


def answer(request: Request, context: Context) -> SpineAnswer:
    """Compare the arrow before and after, and solve for the point that restores it."""
    arrow = parts_alone(request.arrow)
    weight = _weight(request.bow)
    changes = request.changes or Changes()
    after = arrow
    if changes.length is not None:
        if longer(changes.length, arrow.length or 0.0):
            raise FittingError(
                Fault(path=("changes", "length"), detail="A cut cannot make an arrow longer.")
            )
        if shorter(changes.length, arrow.length or 0.0):
            after = cut(arrow, changes.length, request.cut_end)  # type: ignore[arg-type]
    if changes.point_mass is not None:
        after = with_point_mass(after, changes.point_mass)
    _refuse_unused(request, changes, after is not arrow)
    table: list[Arrow] = []
    if changes.length is not None and request.step is not None:
        table = cuts(arrow, request.step, changes.length, request.cut_end)  # type: ignore[arg-type]
    shown = states(arrow, (arrow, after, *table), weight)
    more: SpineTable = {}
    responses = state_response(shown[0]), state_response(shown[1])
    if table:
        more["steps"] = [state_response(state) for state in shown[2:]]
    if after is not arrow:
        restoring = restoring_point_mass(arrow, after, request.available_points)
        more["restoring_point_mass"] = {
            "free_vibration": point_mass_response(restoring.free_vibration),
            "launch": point_mass_response(restoring.launch),
        }
    return {
        "before": responses[0],
        "after": responses[1],
        "derivation": sources_response(_SOURCES, {*responses[0], *responses[1]}),
        "assumptions": [*_left_out(request.arrow), *assumptions_response(arrow)],
        **more,
        "not_checked": _not_checked_response(shown),
        "cautions": [
            *contradictions_of(request.arrow),
            *_load_cautions(arrow, shown),
            *cautions.WORK,
            cautions.BREAKING,
        ],
        "engine": engine_response(context),
    }


def _refuse_unused(request: Request, changes: Changes, changed: bool) -> None:
    faults = []
    if request.step is not None and changes.length is None:
        faults.append(Fault(path=("changes", "length"), detail="This is needed beside step."))
    if request.available_points is not None and not changed:
        faults.append(Fault(path=("changes",), detail="This is needed beside available_points."))
    if faults:
        raise FittingError(*faults)


def _left_out(arrow: Arrow) -> list[Assumption]:
    text = "Not used. These figures come from the parts alone, before and after."
    given = (("arrow.mass", arrow.mass), ("arrow.balance_point", arrow.balance_point))
    return [{"field": name, "assumed": text} for name, value in given if value is not None]


def _not_checked_response(shown: Sequence[SpineState]) -> list[NotChecked]:
    not_checked: list[NotChecked] = [
        {"what": "Match of the arrow to a bow: use the shaft maker's chart.", "fields": []}
    ]
    if any(state.static_spine is None for state in shown):
        what = "Static spine where the tapered shaft is shorter than the 28 in span of the test."
        not_checked.append({"what": what, "fields": []})
    if shown[0].launch_load is None:
        not_checked.append({"what": "Launch load.", "fields": ["bow.draw_weight"]})
    return not_checked


def _load_cautions(arrow: Arrow, shown: Sequence[SpineState]) -> list[str]:
    most = max((state.launch_load or 0.0 for state in shown), default=0.0)
    doubtful, far = launch_load_limits(arrow.shaft)
    if limits.more(most, far):
        return [cautions.FAR_TOO_WEAK]
    return [cautions.WEAK] if limits.more(most, doubtful) else []


def _weight(bow: Bow | None) -> float | None:
    if bow is None:
        return None
    if bow.draw_weight is None:
        if bow.draw_weight_basis is not None:
            detail = "This is needed beside draw_weight_basis."
            raise FittingError(Fault(path=("bow", "draw_weight"), detail=detail))
        return None
    if bow.draw_weight_basis != "own_draw":
        raise FittingError(
            Fault(
                path=("bow", "draw_weight_basis"),
                detail='must be "own_draw" here: without an archer the draw is not known',
            )
        )
    return float(bow.draw_weight)
