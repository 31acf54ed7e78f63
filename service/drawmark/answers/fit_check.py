"""May this archer safely shoot these arrows from this bow?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final, Literal, NotRequired, TypedDict

from drawmark.answers.common import cautions
from drawmark.answers.common.advice import no_length_reason
from drawmark.answers.common.answer_types import Convention, Length, NotTold, Number, OverallVerdict
from drawmark.answers.common.common_response import (
    Cautions,
    EngineUsed,
    NotCheckedList,
    RulesApplied,
    RuleSetName,
    UnevaluatedRules,
    common_response,
    encode_texts,
    unevaluated_response,
)
from drawmark.answers.common.context import Context
from drawmark.answers.common.draw_control import DrawEnd, draw_control_response
from drawmark.answers.common.findings import Finding, deciding_response, findings_response
from drawmark.answers.common.growth_curve import Grows, curve_months, growth_curve_response
from drawmark.answers.common.longest_draw_of_check import longest_draw_of_check
from drawmark.answers.common.longest_draw_search import LongestDrawAtMost, against_shorter
from drawmark.answers.common.minimum import (
    Derivation,
    Minimum,
    NearestBlade,
    blade_response,
    derivation_response,
    minimum_response,
)
from drawmark.answers.common.recommended_window import Recommendation, window_in, window_response
from drawmark.fitting import fields, limits
from drawmark.fitting import window as fitted
from drawmark.fitting.columns import Real
from drawmark.fitting.draw.draw_length import offset_of
from drawmark.fitting.draw.spread import exceedance_per_thousand
from drawmark.fitting.model import DRAW, Archer, Arrow, Bow, Fitting
from drawmark.rules.evaluate import evaluate
from drawmark.rules.model import Measure
from drawmark.rules.outcome import Outcome

NEEDS = ("arrow.length", DRAW)
_CAUTIONS: Final = (*cautions.FIT, cautions.LONGEST)


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """Archer, bow and arrow."""

    archer: Archer = fields.part(Archer, "The archer.")
    bow: Bow = fields.part(Bow, "The bow.")
    arrow: Arrow = fields.part(Arrow, "The arrow, or the shortest of a set.")
    saw_increment: float | None = fields.increment("Lengths are rounded up to a multiple of this.")
    curve_months: int | None = curve_months()


class NoCommonLength(TypedDict):
    """What to do where no length will do."""

    advice: NotRequired[
        Annotated[Literal["no_common_length"], "Given if no length is recommended."]
    ]
    advice_reason: NotRequired[Annotated[str, "What to change."]]


class LongestDraw(TypedDict):
    """How far the checked arrow may be drawn."""

    longest_safe_draw: NotRequired[
        Annotated[
            Length,
            "Longest safe draw of this arrow, rounded down. If a clicker ends this archer's "
            "draw, some shorter draws may not be safe.",
        ]
    ]
    longest_safe_draw_at_most: NotRequired[LongestDrawAtMost]
    longest_safe_draw_reason: NotRequired[
        Annotated[str, "Which local rule is against a shorter draw."]
    ]


class Odds(TypedDict):
    """How often a draw that varies is too long."""

    past_back_per_thousand: NotRequired[
        Annotated[
            Number,
            "Expected shots in a thousand in which the shaft ends behind the back of the bow.",
        ]
    ]
    off_rest_per_thousand: NotRequired[
        Annotated[Number, "Expected shots in a thousand in which the shaft ends behind the rest."]
    ]
    odds_remark: NotRequired[Annotated[str, "What these two numbers assume."]]


class FullDetail(Recommendation, NoCommonLength, NearestBlade, LongestDraw, Odds, Grows):
    """What detail "full" adds."""

    draw_length_convention: NotRequired[Convention]
    derivation: NotRequired[Derivation]
    draw_control: NotRequired[DrawEnd]
    not_told: NotRequired[NotTold]
    cautions: NotRequired[Cautions]
    unevaluated: NotRequired[UnevaluatedRules]
    not_checked: NotRequired[NotCheckedList]
    rules_applied: NotRequired[RulesApplied]
    ruleset: NotRequired[RuleSetName]
    engine: NotRequired[EngineUsed]


class FitCheckAnswer(Minimum, FullDetail):
    """May this archer safely shoot these arrows from this bow: a verdict and why.

    With detail `verdict` only what decides it.
    """

    verdict: OverallVerdict
    findings: Annotated[list[Finding], "What the rules found, the worst first."]


def answer(request: Request, context: Context) -> FitCheckAnswer:
    """Give the verdict and everything behind it; less of it in detail "verdict"."""
    return answer_with(request, context, outcome_of(request, context))


def outcome_of(request: Request, context: Context) -> Outcome:
    """Run the rules."""
    fitting = Fitting(archer=request.archer, bow=request.bow, arrow=request.arrow)
    return evaluate(fitting, context.ruleset, context.local)


def answer_with(request: Request, context: Context, outcome: Outcome) -> FitCheckAnswer:
    """Say what the rules found."""
    bow, arrow = request.bow, request.arrow
    window = window_in(outcome, bow, arrow, request.saw_increment)
    recommended = Recommendation()
    if window.figure is not None:
        recommended["recommended"] = Measure(window.figure, up=True)
    if context.detail == "verdict":
        increment, findings = None, deciding_response(outcome)
        more: FullDetail = {"unevaluated": unevaluated_response(outcome.unevaluated)}
    else:
        increment = request.saw_increment
        findings = findings_response(outcome.findings)
        more = _full_detail(request, outcome, window, context)
    return {
        "verdict": outcome.verdict,
        **minimum_response(outcome, bow, arrow, increment),
        **recommended,
        "findings": findings,
        **more,
    }


def _full_detail(
    request: Request, outcome: Outcome, window: fitted.Window, context: Context
) -> FullDetail:
    bow, arrow = request.bow, request.arrow
    return {
        **window_response(window),
        **_no_window_response(outcome, window),
        "draw_length_convention": request.archer.draw_length_convention or "standard",
        "derivation": derivation_response(outcome, bow, arrow),
        "draw_control": draw_control_response(outcome.facts),
        **blade_response(outcome, arrow),
        **_longest_draw_response(request, outcome, context),
        **_odds_response(outcome),
        **growth_curve_response(request.archer, bow, arrow, request.curve_months, context),
        "not_told": encode_texts(cautions.NOT_TOLD),
        **common_response(outcome, context, _CAUTIONS),
    }


def _no_window_response(outcome: Outcome, window: fitted.Window) -> NoCommonLength:
    if not window.empty:
        return {}
    return {"advice": "no_common_length", "advice_reason": no_length_reason(outcome, window)}


def _longest_draw_response(request: Request, outcome: Outcome, context: Context) -> LongestDraw:
    archer, bow = request.archer, request.bow
    convention = archer.draw_length_convention or "standard"
    offset = float(offset_of(convention, bow))
    longest = longest_draw_of_check(outcome, archer, bow, request.arrow, context)
    if longest.draw is None or longest.draw <= 0:
        return {}
    figure = Measure(longest.draw + offset, down=True)
    if longest.determinate and outcome.determinate:
        return {"longest_safe_draw": figure}
    if longest.objection is None:
        return {"longest_safe_draw_at_most": figure}
    return {
        "longest_safe_draw_at_most": figure,
        "longest_safe_draw_reason": against_shorter(longest.objection),
    }


def _odds_response(outcome: Outcome) -> Odds:
    facts, usable = outcome.facts, outcome.facts.usable_length
    deviation, count = facts.variation, facts.count
    if deviation is None or count is None or usable is None:
        return {}

    base = limits.BASE_ALLOWANCE[facts.control]

    def odds(limit: Real) -> Measure:
        beyond = exceedance_per_thousand(limit, facts.draw, base, deviation, count)
        return Measure(beyond, "number")

    return {
        "past_back_per_thousand": odds(usable - facts.back),
        "off_rest_per_thousand": odds(usable - facts.rest),
        "odds_remark": (
            "Both are expected numbers in a thousand shots if draws are normally distributed. A "
            "novice's draws are not."
        ),
    }
