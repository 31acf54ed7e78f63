"""How long an arrow should be, and whether to cut."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final, NotRequired, TypedDict

from drawmark.answers.common import cautions
from drawmark.answers.common.advice import Advice, advise, is_short
from drawmark.answers.common.answer_types import Length
from drawmark.answers.common.common_response import Aggregate, Common
from drawmark.answers.common.context import Context
from drawmark.answers.common.draw_control import DrawEnd, EstimatedDraw, draw_control_response
from drawmark.answers.common.findings import Finding, deciding_response
from drawmark.answers.common.length_rules import evaluate_lengths, evaluate_without_clicker
from drawmark.answers.common.minimum import (
    Derivation,
    Minimum,
    MinimumWithoutClicker,
    NearestBlade,
    blade_response,
    derivation_response,
    minimum_length_of,
    minimum_response,
    reaches_no_safe_arrow,
    without_clicker_response,
)
from drawmark.answers.common.recommended_window import Recommendation, window_in, window_response
from drawmark.answers.cutting.candidates import Candidate, Candidates
from drawmark.fitting import fields
from drawmark.fitting import window as fitted
from drawmark.fitting.cutting.bare_shaft import shortest_cut
from drawmark.fitting.limits import longer
from drawmark.fitting.model import DRAW, Archer, Arrow, Bow
from drawmark.rules.model import Measure, Verdict

NEEDS = (DRAW,)
_NOT_BEFORE_CUT: Final = (
    "The arrow is too long for the clicker and too short without it. Do not draw it. First move "
    "or extend the clicker to meet it. If that is not possible, cut to `window.longest` and no "
    "further."
)
_IN_ONE_CUT: Final = (
    "The arrow is too long for the clicker. Move or extend the clicker as far as it goes. Then cut "
    "to `window.longest` in one go, and no further. Do not draw the arrow at a length between "
    "`minimum_without_clicker` and that."
)
_NOT_AS_CUT: Final = (
    "The fit check would not let the arrow be shot at the recommended length: see the findings. "
    "Do not cut it."
)
_NOT_SHOT: Final = (
    "This is about length only. The fit check does not let the arrow be shot: see the findings."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """Archer, bow and the arrow as far as it is known."""

    archer: Archer = fields.part(Archer, "The archer.")
    bow: Bow = fields.part(Bow, "The bow.")
    arrow: Arrow | None = fields.part(Arrow, "The arrow, as far as it is known.", default=None)
    saw_increment: float | None = fields.increment("Lengths are rounded up to a multiple of this.")


class CheckedFit(TypedDict):
    """The fit check of the arrow as advised."""

    checked_length: NotRequired[
        Annotated[
            Length,
            "Length at which the fit check was made. It is the recommended length for a new "
            "shaft or a cut, otherwise the arrow's own.",
        ]
    ]
    verdict: NotRequired[Annotated[Verdict, "Verdict of the fit check at this length."]]
    findings: NotRequired[Annotated[list[Finding], "Findings that decide the verdict."]]


class RecommendedLengthAnswer(
    Recommendation, Minimum, MinimumWithoutClicker, NearestBlade, CheckedFit, Common
):
    """How long the arrow should be, and what to do to get there."""

    advice: Annotated[Advice, "What to do with the arrow, or with a new shaft."]
    advice_reason: Annotated[str, "Why."]
    derivation: Derivation
    draw_control: DrawEnd
    estimated_draw: EstimatedDraw


def answer(request: Request, context: Context) -> RecommendedLengthAnswer:
    """Give the recommended window and figure, the minimum, and advice on the arrow at hand."""
    archer, bow, arrow = request.archer, request.bow, request.arrow
    held = outcome = evaluate_lengths(archer, bow, arrow, context, uncut=True)
    window = window_in(held, bow, arrow, request.saw_increment)
    advice, reason = advise(held, window, arrow)
    without = None
    if held.facts.control == "clicker":
        without = evaluate_without_clicker(archer, bow, arrow, context, uncut=True)
        if reaches_no_safe_arrow(held, bow, arrow):
            outcome = without
        elif _is_too_long(arrow, window) and is_short(arrow, without):
            reason = _NOT_BEFORE_CUT
        elif advice == "cut_to" and longer(minimum_length_of(without), window.longest):
            reason = _IN_ONE_CUT
    candidate = _check_advised(request, advice, window, context)
    if candidate is not None and not candidate.may_be_shot:
        if advice == "cut_to":
            advice, reason = "leave_uncut", _NOT_AS_CUT
        elif advice != "too_short":
            reason += f" {_NOT_SHOT}"
    aggregate = Aggregate()
    aggregate.add(outcome)
    if candidate is not None:
        aggregate.add(candidate.outcome)
    return {
        **window_response(window),
        **minimum_response(outcome, bow, arrow, request.saw_increment),
        **without_clicker_response(without),
        "advice": advice,
        "advice_reason": reason,
        **_fit_response(candidate),
        "derivation": derivation_response(outcome, bow, arrow),
        "draw_control": draw_control_response(outcome.facts),
        "estimated_draw": outcome.facts.estimated,
        **blade_response(held, arrow),
        **aggregate.response(context, (*cautions.LENGTH, cautions.CUTTING)),
    }


def _is_too_long(arrow: Arrow | None, window: fitted.Window) -> bool:
    length = None if arrow is None else arrow.length
    return length is not None and not window.empty and bool(longer(length, window.longest))


def _check_advised(
    request: Request, advice: Advice, window: fitted.Window, context: Context
) -> Candidate | None:
    """Check the arrow as advised: cut to the figure, or as it is; a new shaft at the figure."""
    arrow = request.arrow or Arrow()
    length = arrow.length
    if length is None:
        length = window.figure
    elif advice == "cut_to":
        length = window.cut_to
    if length is None:
        return None
    if arrow.length is None:
        arrow = replace(arrow, length=length)
    candidates = Candidates(
        archer=request.archer, bow=request.bow, arrow=arrow, end="front", context=context
    )
    return candidates.at(max(float(length), min(shortest_cut(arrow), candidates.present)))


def _fit_response(candidate: Candidate | None) -> CheckedFit:
    if candidate is None:
        return {}
    return {
        "checked_length": Measure(candidate.length, up=True),
        "verdict": candidate.outcome.verdict,
        "findings": deciding_response(candidate.outcome),
    }
