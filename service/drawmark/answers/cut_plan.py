"""How much to cut off next, decided from the physics and the shots."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final, NotRequired, TypedDict, cast

from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import ArrowLength, Texts
from drawmark.answers.common.common_response import Common, common_response, encode_texts
from drawmark.answers.common.context import Context
from drawmark.answers.common.derivation import Assumptions, assumptions_response
from drawmark.answers.common.draw_control import DrawEnd, EstimatedDraw, draw_control_response
from drawmark.answers.common.findings import Finding, deciding_response, findings_response
from drawmark.answers.common.minimum import (
    Derivation,
    Minimum,
    NearestBlade,
    blade_response,
    derivation_response,
    minimum_response,
)
from drawmark.answers.common.recommended_window import Recommendation, window_response
from drawmark.answers.cutting.candidates import Candidates, Survey, survey
from drawmark.answers.cutting.cut_decision import Plan
from drawmark.answers.cutting.decide import decide
from drawmark.answers.cutting.decision_response import DecisionOfPlan, decision_response
from drawmark.answers.cutting.plan_cautions import plan_cautions
from drawmark.answers.cutting.reading_response import ReadingOfShots, reading_response
from drawmark.answers.cutting.remedies import PointForLength, Remedy, point_for_length, remedies_of
from drawmark.answers.cutting.shafts_response import ShaftsOfSet, shafts_response
from drawmark.answers.cutting.steps_response import StepsOfPlan, steps_response
from drawmark.fitting import fields, limits
from drawmark.fitting.cutting.ideal_length import MOST_ROUNDS
from drawmark.fitting.cutting.offsets import Reading, Shots, read_shots
from drawmark.fitting.cutting.saw_limits import Cutting
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.mechanics.arrow_parts import CutEnd
from drawmark.fitting.mechanics.arrow_validation import verify
from drawmark.fitting.model import DRAW, Archer, Arrow, Bow
from drawmark.rules.model import PRECEDENCE, Measure, Verdict

NEEDS = (
    "arrow.length",
    "arrow.shaft.static_spine",
    "arrow.shaft.mass_per_length",
    "arrow.point.mass",
    "shots[] offset|side",
    DRAW,
)
FIRST: Final = (
    "Set the brace height where the bow is quietest, within the range its maker gives.",
    "Set the nocking height until bare shafts and fletched arrows land at one height.",
    "Set the centre shot until the arrow leaves in the plane of the string.",
    "Only then change the arrow's length. After that, adjust the button or the draw weight.",
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """Archer, bow, the arrow as it is now, the rounds shot, and the options."""

    archer: Archer = fields.part(Archer, "The archer.")
    bow: Bow = fields.part(Bow, "The bow.")
    arrow: Arrow = fields.part(Arrow, "The arrow as it now is: the longest of the test shafts.")
    shots: tuple[Shots, ...] = fields.part(
        Shots,
        "Rounds already shot, in order. Leave it out for the first plan.",
        default=(),
        fewest=0,
        most=MOST_ROUNDS,
    )
    cutting: Cutting = fields.part(Cutting, "What the plan must keep to.", default=Cutting())
    saw_increment: float | None = fields.increment("Lengths are rounded up to a multiple of this.")


class FloorOfPlan(Minimum, Recommendation, NearestBlade):
    """What limits a plan."""

    findings: Annotated[list[Finding], "What the rules found, the worst first."]
    derivation: Derivation
    draw_control: DrawEnd
    estimated_draw: EstimatedDraw


class BlockedAt(TypedDict):
    """A length at which the arrow may not be shot."""

    length: ArrowLength
    verdict: Annotated[Verdict, "Verdict of the fit check at this length."]
    findings: Annotated[list[Finding], "Findings that decide the verdict."]


class BlockedPlan(TypedDict):
    """What keeps a plan from going on."""

    blocked_at: NotRequired[
        Annotated[
            BlockedAt,
            "First length beyond the steps at which the arrow may not be shot.",
        ]
    ]


class FixedPoint(TypedDict):
    """The point for a fixed length."""

    point_for_length: NotRequired[Annotated[PointForLength, "Point mass for a fixed length."]]


class CutPlanAnswer(
    DecisionOfPlan,
    FloorOfPlan,
    StepsOfPlan,
    ShaftsOfSet,
    BlockedPlan,
    FixedPoint,
    ReadingOfShots,
    Common,
):
    "Whether and where to cut next, and the chance of cutting too far."

    remedies: Annotated[list[Remedy], "What helps if a cut does not."]
    before_any_cut: Annotated[Texts, "What to set before the length, in order."]
    assumptions: Assumptions


def answer(request: Request, context: Context) -> CutPlanAnswer:
    """Decide on the next cut, with its chance of going too far, and say what else helps."""
    verify(request.arrow)
    _require_hand(request)
    options = _options(request)
    candidates = Candidates(
        archer=request.archer,
        bow=request.bow,
        arrow=request.arrow,
        end=cast(CutEnd, options.cut_end),
        context=context,
    )
    found = survey(candidates, options.wanted_length, request.saw_increment)
    reading = _read(request)
    plan = decide(found, reading, options, request.saw_increment)
    return {
        **decision_response(plan.decided, request.arrow),
        **_floor_response(found, plan, request.saw_increment),
        **steps_response(found, plan),
        **_blocked_response(plan),
        **shafts_response(plan.decided, options),
        **_points_response(found, plan, options),
        **reading_response(reading),
        "remedies": remedies_of(found, plan.decided, options),
        "before_any_cut": encode_texts(FIRST),
        "assumptions": assumptions_response(request.arrow),
        **common_response(
            (plan.doubt or found.here).outcome,
            context,
            (*plan_cautions(found, plan, options), *cautions.FIT, *_CAUTIONS),
        ),
    }


_CAUTIONS: Final = (cautions.CUTTING, cautions.NO_MATCH, cautions.CHANCE)


def _require_hand(request: Request) -> None:
    """Refuse a side whose meaning hangs on a hand, or a release, that is not told."""
    if all(one.side is None for one in request.shots):
        return
    needed = {
        "string_hand": "This is needed beside a side: only it tells which side is weak.",
        "release": "This is needed beside a side: a side tells weak from stiff for fingers only.",
    }
    faults = [
        Fault(path=("archer", name), detail=detail)
        for name, detail in needed.items()
        if getattr(request.archer, name) is None
    ]
    if faults:
        raise FittingError(*faults)


def _options(request: Request) -> Cutting:
    options, increment = request.cutting, request.saw_increment
    faults: list[tuple[tuple[str, ...], str]] = []
    largest, wanted = options.largest_step, options.wanted_length
    assert request.arrow.length is not None
    if wanted is not None and limits.longer(wanted, request.arrow.length):
        faults.append((("cutting", "wanted_length"), "A cut cannot make an arrow longer."))
    if largest is not None and limits.shorter(largest, options.smallest_step):
        faults.append((("cutting", "largest_step"), "is shorter than smallest_step"))
    if largest is not None and increment is not None and limits.shorter(largest, increment):
        faults.append((("saw_increment",), "is coarser than largest_step"))
    if faults:
        raise FittingError(*(Fault(path=path, detail=detail) for path, detail in faults))
    if (
        largest is None
        and increment is not None
        and limits.longer(increment, limits.LARGEST_BLIND_STEP)
    ):
        return replace(options, largest_step=increment)
    return options


def _read(request: Request) -> Reading | None:
    if not request.shots:
        return None
    archer, point = request.archer, request.arrow.point
    return read_shots(
        request.shots,
        string_hand=archer.string_hand,
        release=archer.release,
        point_mass=None if point is None or point.mass is None else float(point.mass),
    )


def _floor_response(found: Survey, plan: Plan, increment: float | None) -> FloorOfPlan:
    here, there, bow = found.here, plan.doubt or found.there, found.candidates.bow
    window = window_response(found.window) if plan.doubt is None else Recommendation()
    weighty = [placed for placed in here.outcome.findings if PRECEDENCE[placed.said.severity] > 0]
    return {
        **minimum_response(there.outcome, bow, there.arrow, increment),
        **window,
        "findings": findings_response(weighty),
        "derivation": derivation_response(there.outcome, bow, there.arrow),
        "draw_control": draw_control_response(there.outcome.facts),
        "estimated_draw": there.outcome.facts.estimated,
        **blade_response(there.outcome, there.arrow),
    }


def _blocked_response(plan: Plan) -> BlockedPlan:
    if plan.blocked is None:
        return {}
    outcome = plan.blocked.outcome
    return {
        "blocked_at": {
            "length": Measure(plan.blocked.length, up=True),
            "verdict": outcome.verdict,
            "findings": deciding_response(outcome),
        }
    }


def _points_response(found: Survey, plan: Plan, options: Cutting) -> FixedPoint:
    fixed = point_for_length(found, plan.decided, options)
    return {} if fixed is None else {"point_for_length": fixed}
