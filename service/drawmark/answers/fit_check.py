"""May this archer safely shoot these arrows from this bow?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from drawmark.answers.common import cautions
from drawmark.answers.common.context import Answer, Context
from drawmark.answers.common.longest_draw_of_check import longest_beside
from drawmark.answers.common.minimum import say_blade, say_derivation, say_minimum
from drawmark.answers.common.response_parts import (
    say_common,
    say_control,
    say_deciding,
    say_finding,
    say_longest,
    say_texts,
    say_unevaluated,
    say_window,
    window_in,
)
from drawmark.answers.recommended_length import NO_LENGTH
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
    return say(request, outcome, context)


def say(request: Request, outcome: Outcome, context: Context) -> Answer:
    """Put an outcome into an answer."""
    bow, arrow, increment = request.bow, request.arrow, request.saw_increment
    window = window_in(outcome, bow, arrow, increment)
    full = context.detail == "full"
    brief: Answer = {
        "verdict": outcome.verdict,
        **say_minimum(outcome, bow, arrow, increment if full else None),
    }
    if window.figure is not None:
        brief["recommended"] = Measure(window.figure, up=True)
    if not full:
        brief["findings"] = say_deciding(outcome)
        brief["unevaluated"] = say_unevaluated(outcome.unevaluated)
        return brief
    findings = sorted(outcome.findings, key=lambda placed: -PRECEDENCE[placed.said.severity])
    brief["findings"] = [say_finding(placed) for placed in findings]
    return {
        **brief,
        **(_say_no_window() if window.empty else say_window(window)),
        "draw_length_convention": request.archer.draw_length_convention or "standard",
        "derivation": say_derivation(outcome, bow, arrow),
        "draw_control": say_control(outcome.facts),
        **say_blade(outcome, arrow),
        **_say_longest(request, outcome, context),
        **_say_odds(outcome),
        "not_told": say_texts(cautions.NOT_TOLD),
        **say_common(outcome, context, _CAUTIONS),
    }


def _say_no_window() -> Answer:
    return {"advice": "no_common_length", "advice_reason": NO_LENGTH}


def _say_longest(request: Request, outcome: Outcome, context: Context) -> Answer:
    archer, bow = request.archer, request.bow
    convention = archer.draw_length_convention or "standard"
    offset = float(offset_of(convention, bow))
    longest, determinate = longest_beside(outcome, archer, bow, request.arrow, context)
    if longest is None or longest <= 0:
        return {}
    return say_longest(longest + offset, outcome.determinate and determinate)


def _say_odds(outcome: Outcome) -> Answer:
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
