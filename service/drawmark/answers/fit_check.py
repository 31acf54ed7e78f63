"""May this archer safely shoot these arrows from this bow?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from drawmark.answers.common import cautions
from drawmark.answers.common.advice import NO_LENGTH
from drawmark.answers.common.common_response import (
    common_response,
    encode_texts,
    unevaluated_response,
)
from drawmark.answers.common.context import Answer, Context
from drawmark.answers.common.draw_control import draw_control_response
from drawmark.answers.common.findings import deciding_response, finding_response
from drawmark.answers.common.longest_draw_of_check import longest_draw_of_check
from drawmark.answers.common.longest_draw_search import longest_draw_response
from drawmark.answers.common.minimum import blade_response, derivation_response, minimum_response
from drawmark.answers.common.recommended_window import window_in, window_response
from drawmark.fitting import fields
from drawmark.fitting.draw.draw_length import exceedance_per_thousand, offset_of
from drawmark.fitting.model import DRAW, Archer, Arrow, Bow, Fitting
from drawmark.rules.evaluate import evaluate
from drawmark.rules.model import PRECEDENCE, Measure
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


def answer(request: Request, context: Context) -> Answer:
    """Give the verdict and everything behind it; less of it in detail "verdict"."""
    fitting = Fitting(archer=request.archer, bow=request.bow, arrow=request.arrow)
    outcome = evaluate(fitting, context.ruleset, context.local)
    bow, arrow, increment = request.bow, request.arrow, request.saw_increment
    window = window_in(outcome, bow, arrow, increment)
    full = context.detail == "full"
    brief: Answer = {
        "verdict": outcome.verdict,
        **minimum_response(outcome, bow, arrow, increment if full else None),
    }
    if window.figure is not None:
        brief["recommended"] = Measure(window.figure, up=True)
    if not full:
        brief["findings"] = deciding_response(outcome)
        brief["unevaluated"] = unevaluated_response(outcome.unevaluated)
        return brief
    findings = sorted(outcome.findings, key=lambda placed: -PRECEDENCE[placed.said.severity])
    brief["findings"] = [finding_response(placed) for placed in findings]
    return {
        **brief,
        **(_no_window_response() if window.empty else window_response(window)),
        "draw_length_convention": request.archer.draw_length_convention or "standard",
        "derivation": derivation_response(outcome, bow, arrow),
        "draw_control": draw_control_response(outcome.facts),
        **blade_response(outcome, arrow),
        **_longest_draw_response(request, outcome, context),
        **_odds_response(outcome),
        "not_told": encode_texts(cautions.NOT_TOLD),
        **common_response(outcome, context, _CAUTIONS),
    }


def _no_window_response() -> Answer:
    return {"advice": "no_common_length", "advice_reason": NO_LENGTH}


def _longest_draw_response(request: Request, outcome: Outcome, context: Context) -> Answer:
    archer, bow = request.archer, request.bow
    convention = archer.draw_length_convention or "standard"
    offset = float(offset_of(convention, bow))
    longest, determinate = longest_draw_of_check(outcome, archer, bow, request.arrow, context)
    if longest is None or longest <= 0:
        return {}
    return longest_draw_response(longest + offset, outcome.determinate and determinate)


def _odds_response(outcome: Outcome) -> Answer:
    facts = outcome.facts
    if facts.variation is None or facts.count is None or facts.usable_length is None:
        return {}

    def odds(limit: float) -> Measure:
        return Measure(
            exceedance_per_thousand(limit, facts.mean_draw, facts.variation, facts.count),  # type: ignore[arg-type]
            "number",
        )

    return {
        "past_back_per_thousand": odds(float(facts.usable_length - facts.back)),
        "off_rest_per_thousand": odds(float(facts.usable_length - facts.rest)),
        "odds_remark": "expected numbers in a thousand shots if draws are normal; a novice's "
        "are not",
    }
