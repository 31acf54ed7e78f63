"""What the rules about lengths say of a fitting."""

from __future__ import annotations

import dataclasses
from typing import Any

import msgspec

from drawmark.answers.common.context import Context
from drawmark.fitting.facts import facts_of
from drawmark.fitting.mechanics.arrow_facts import ArrowFacts
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.rules.evaluate import evaluate
from drawmark.rules.outcome import Outcome


def evaluate_lengths(
    archer: Archer,
    bow: Bow,
    arrow: Arrow | None,
    context: Context,
    *,
    uncut: bool = False,
    arrow_facts: ArrowFacts | None = None,
) -> Outcome:
    """Run the rules that may set floors or ceilings; the last two as in `facts_of`."""
    fitting = Fitting(archer=archer, bow=bow, arrow=arrow)
    facts = facts_of(fitting, uncut=uncut, arrow_facts=arrow_facts)
    return evaluate(fitting, context.ruleset, context.local, lengths_only=True, facts=facts)


def evaluate_without_clicker(
    archer: Archer, bow: Bow, arrow: Arrow | None, context: Context, *, uncut: bool = False
) -> Outcome:
    """Run them as if the claimed clicker did not control the draw."""
    plain = dataclasses.replace(archer, draw_control="none")
    outcome = evaluate_lengths(plain, bow, arrow, context, uncut=uncut)
    return claiming(outcome, archer.draw_control, refuted=True)


def claiming(outcome: Outcome, control: str, **shown: Any) -> Outcome:
    """Restate an answer for no control as one for a claimed control that does not count."""
    facts = msgspec.structs.replace(outcome.facts, claimed=control, **shown)
    return msgspec.structs.replace(outcome, facts=facts)
