"""Remedies where a cut does not help, and the point for a fixed length."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Annotated, Final, Literal, NotRequired, TypedDict

from drawmark.answers.common.answer_types import (
    ArrowLength,
    BalanceNote,
    Force,
    LaunchLoad,
    Length,
    Percent,
    SourceKey,
    ThePointMass,
    TubeLength,
)
from drawmark.answers.common.recommended_window import Window
from drawmark.answers.cutting.candidates import Candidates, Survey
from drawmark.fitting import fields, limits
from drawmark.fitting.cutting.bare_shaft import shortest_cut
from drawmark.fitting.cutting.next_cut import CutDecision, IdealLength
from drawmark.fitting.cutting.saw_limits import Cutting
from drawmark.fitting.mechanics.arrow_validation import projection_of, shaft_of
from drawmark.fitting.mechanics.point_mass import Solution, restoring_point_mass, with_point_mass
from drawmark.fitting.mechanics.weighing import front_of_centre_of
from drawmark.fitting.model import Arrow, Bow
from drawmark.fitting.units import POUND_FORCE
from drawmark.rules.model import Measure, Verdict

_WEIGHTS: Final = fields.quantity_of(Bow, "draw_weight")
_STATIONS: Final = "A shaft with stations cannot be extended beyond its end."
_FULL: Final = "A shaft of the ideal length has no room for the arrow's parts."
_IF_COACH_AGREES: Final = "Raise the draw weight only if a coach agrees."
_AT_MOST: Final = (
    "Raise the draw weight by no more than 2 lbf, and only if a coach agrees. The trade's rule "
    "asks for {pounds:.1f} lbf, so this alone is not enough."
)
_STOPPED: Final = "The fit check of that arrow on this bow gives `stop`."


class PointSolution(TypedDict):
    """A point that would do instead of a cut, or why there is none."""

    point_mass: NotRequired[ThePointMass]
    front_of_centre: NotRequired[
        Annotated[Percent, "Front of centre with this point, in per cent."]
    ]
    note: NotRequired[BalanceNote]
    launch_load: NotRequired[LaunchLoad]
    verdict: NotRequired[Annotated[Verdict, "Verdict of the fit check with this change."]]
    reason: NotRequired[Annotated[str, "Why there is none."]]


ActsLikeLength = Annotated[Length, "Length at which the present arrow would act the same."]
PresentBalance = Annotated[Percent, "Front of centre with the present point, in per cent."]
ByVibration = Annotated[PointSolution, "By the frequency of free vibration."]
ByLaunch = Annotated[PointSolution, "By the critical launch force."]


class PointsForLength(TypedDict):
    """Points with which an arrow acts like one of another length, by each measure."""

    acts_like_length: ActsLikeLength
    present_front_of_centre: PresentBalance
    free_vibration: ByVibration
    launch: ByLaunch


class PointForLength(PointsForLength):
    """The point for a fixed length."""

    length: ArrowLength
    tube_length: TubeLength
    fixed_by: Annotated[Literal["clicker", "wanted_length"], "What fixes the length."]
    keeps: Annotated[
        Literal["present", "ideal"],
        "Whether the arrow then acts as it does now, or as the ideal one would.",
    ]


class Remedy(TypedDict):
    "Something that helps if a cut does not, with its fit check."

    kind: Annotated[Literal["point_mass", "draw_weight", "longer_shaft"], "What is changed."]
    source: SourceKey
    acts_like_length: NotRequired[ActsLikeLength]
    present_front_of_centre: NotRequired[PresentBalance]
    free_vibration: NotRequired[ByVibration]
    launch: NotRequired[ByLaunch]
    draw_weight_change: NotRequired[Annotated[Force, "Change of draw weight, by the trade's rule."]]
    draw_weight: NotRequired[Annotated[Force, "Draw weight after the change."]]
    condition: NotRequired[Annotated[str, "What must be so before this is done."]]
    arrow_length: NotRequired[
        Annotated[
            Length, "Arrow length, from the bottom of the nock slot to the front end of the shaft."
        ]
    ]
    tube_length: NotRequired[TubeLength]
    range: NotRequired[Annotated[Window, "Interval that holds that length nine times in ten."]]
    verdict: NotRequired[Annotated[Verdict, "Verdict of the fit check with this change."]]
    reason: NotRequired[Annotated[str, "Why it cannot be done."]]


def remedies_of(survey: Survey, decided: CutDecision, options: Cutting) -> list[Remedy]:
    """List what brings the present arrow to act as it would at its ideal length."""
    candidates, ideal = survey.candidates, decided.ideal
    if decided.decision not in ("already_too_stiff", "at_the_floor", "stop_here") or ideal is None:
        return []
    length_change = ideal.estimate - candidates.present
    if abs(length_change) <= limits.CLOSE_ENOUGH:
        return []
    points = _points_response(
        candidates, candidates.arrow, ideal.estimate, options.available_points
    )
    found: list[Remedy] = [
        {
            "kind": "point_mass",
            "source": "euler-beam",
            "acts_like_length": points["acts_like_length"],
            "present_front_of_centre": points["present_front_of_centre"],
            "free_vibration": points["free_vibration"],
            "launch": points["launch"],
        },
        _weight_response(candidates, length_change),
    ]
    if length_change > 0:
        found.append(_longer_response(candidates, ideal))
    return found


def point_for_length(
    survey: Survey, decided: CutDecision, options: Cutting
) -> PointForLength | None:
    """Solve for the point for a length that a clicker or the coach has fixed."""
    candidates = survey.candidates
    fixed = options.wanted_length or survey.fixed_by_clicker
    if fixed is None or decided.decision == "indeterminate":
        return None
    length = min(max(fixed, survey.lowest), candidates.present)
    candidate = candidates.at(length)
    if not candidate.long_enough:
        return None
    like = candidates.present if decided.ideal is None else decided.ideal.estimate
    rear = float(projection_of(candidates.arrow))
    return {
        "length": Measure(length, up=True),
        "tube_length": Measure(length - rear, up=True),
        "fixed_by": "clicker" if options.wanted_length is None else "wanted_length",
        "keeps": "present" if decided.ideal is None else "ideal",
        **_points_response(candidates, candidate.arrow, like, options.available_points),
    }


def _points_response(
    candidates: Candidates, changed: Arrow, like: float, available: Sequence[float] | None
) -> PointsForLength:
    original = _as_long_as(candidates, like)
    if isinstance(original, str):
        free: PointSolution = {"reason": original}
        launch = free
    else:
        found = restoring_point_mass(original, changed, available)
        free = _point_response(candidates, changed, found.free_vibration)
        launch = free
        if found.launch != found.free_vibration:
            launch = _point_response(candidates, changed, found.launch)
    return {
        "acts_like_length": Measure(like),
        "present_front_of_centre": Measure(front_of_centre_of(changed), "percent"),
        "free_vibration": free,
        "launch": launch,
    }


def _as_long_as(candidates: Candidates, length: float) -> Arrow | str:
    """The present arrow cut to a length [m], or made longer where it can be; else why not."""
    if limits.shorter(length, shortest_cut(candidates.arrow)):
        return _FULL
    if not limits.longer(length, candidates.present):
        return candidates.cut_to(length)
    if shaft_of(candidates.arrow).stations is not None:
        return _STATIONS
    return dataclasses.replace(candidates.arrow, length=length, mass=None, balance_point=None)


def _point_response(candidates: Candidates, changed: Arrow, solution: Solution) -> PointSolution:
    if solution.value is None:
        return {"reason": solution.reason or "none"}
    arrow = with_point_mass(changed, solution.value)
    outcome = candidates.with_arrow(arrow).outcome
    if outcome.verdict == "stop":
        return {"reason": _STOPPED}
    answer: PointSolution = {
        "point_mass": Measure(solution.value, "mass"),
        "front_of_centre": Measure(front_of_centre_of(arrow), "percent"),
        "verdict": outcome.verdict,
    }
    if solution.note is not None:
        answer["note"] = solution.note
    if outcome.facts.launch_load is not None:
        answer["launch_load"] = Measure(outcome.facts.launch_load, "number")
    return answer


def _longer_response(candidates: Candidates, ideal: IdealLength) -> Remedy:
    answer: Remedy = {"kind": "longer_shaft", "source": "cut-prior"}
    longer = _as_long_as(candidates, ideal.estimate)
    if isinstance(longer, str):
        return {**answer, "reason": longer}
    outcome = candidates.with_arrow(longer).outcome
    if outcome.verdict == "stop":
        return {**answer, "reason": _STOPPED}
    rear = float(projection_of(candidates.arrow))
    return {
        **answer,
        "arrow_length": Measure(ideal.estimate, up=True),
        "tube_length": Measure(ideal.estimate - rear, up=True),
        "range": {
            "shortest": Measure(ideal.low, up=True),
            "longest": Measure(ideal.high, up=True),
        },
        "verdict": outcome.verdict,
    }


def _weight_response(candidates: Candidates, length_change: float) -> Remedy:
    asked = length_change * limits.TRADE_SPINE_RULE
    change = min(asked, limits.MOST_WEIGHT_RAISE)
    answer: Remedy = {
        "kind": "draw_weight",
        "source": "trade-spine-rule",
        "draw_weight_change": Measure(change, "force"),
    }
    if limits.more(asked, limits.MOST_WEIGHT_RAISE):
        answer["condition"] = _AT_MOST.format(pounds=asked / POUND_FORCE)
    elif change > 0:
        answer["condition"] = _IF_COACH_AGREES
    present = candidates.bow.draw_weight
    if present is None:
        return answer
    weight = float(present) + change
    if not _WEIGHTS.low <= weight <= _WEIGHTS.high:
        return {**answer, "reason": "That draw weight is outside the range accepted here."}
    bow = dataclasses.replace(candidates.bow, draw_weight=weight)
    outcome = candidates.with_bow(bow).outcome
    if outcome.verdict == "stop":
        return {**answer, "reason": _STOPPED}
    return {**answer, "draw_weight": Measure(weight, "force"), "verdict": outcome.verdict}
