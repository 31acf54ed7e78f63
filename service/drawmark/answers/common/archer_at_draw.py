"""The same archer, bow and arrow at other draws."""

from __future__ import annotations

import dataclasses
import math
from typing import Any, Final

import msgspec
import numpy as np
from msgspec.structs import replace

from drawmark.answers.common.context import Context
from drawmark.fitting.columns import Column, MixedError, Real, maximum
from drawmark.fitting.draw.draw_length import Spread, offset_of, spread_of
from drawmark.fitting.draw.draw_weight import force_gradients
from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.arrow_facts import ArrowFacts, arrow_facts_of
from drawmark.fitting.mechanics.arrow_validation import faults_of
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.rules.batch_outcome import OutcomeColumns
from drawmark.rules.evaluate import evaluate
from drawmark.rules.evaluate_batch import evaluate_many
from drawmark.rules.outcome import Outcome
from drawmark.rules.rule_set import RuleSet

_ANY: Final = 0.7
_SETTERS: Final = [
    (field.name, getattr(Archer, field.name).__set__) for field in dataclasses.fields(Archer)
]


def _change(archer: Archer, **changes: Any) -> Archer:
    """Replace fields in half the time of `dataclasses.replace`; every draw tried needs it."""
    changed = object.__new__(Archer)
    for name, set_field in _SETTERS:
        set_field(changed, changes[name] if name in changes else getattr(archer, name))
    return changed


def is_estimate(archer: Archer) -> bool:
    """Tell whether the draw is known only from the arm span, which shows no control."""
    return archer.draw_length is None and archer.draws is None and archer.arm_span is not None


def drawing(archer: Archer, bow: Bow, draw: Real) -> Archer:
    """Let an archer draw to a mean to the pivot point [m], with the spread that was measured.

    Where an arm span alone told the draw, the archer has no control of it.
    """
    convention = "to_pivot"
    if archer.draw_length_convention == "to_back" and bow.back_position is None:
        # The pivot point is no better known at this draw than at the archer's own.
        convention = "to_back"
        draw = draw + offset_of(convention, bow)
    draws = archer.draws
    if draws is not None:
        shift: Any = draw - math.fsum(draws) / len(draws)
        if isinstance(shift, np.ndarray):
            # Rows of one matrix: a column for each draw is made in a fifth of the time.
            rows = np.add.outer(draws, shift)
            rows.flags.writeable = False
            draws = tuple(rows)
        else:
            draws = tuple([one + shift for one in draws])
    return _change(
        archer,
        draw_length=draw if draws is None else None,
        draws=draws,
        arm_span=None,
        measured_on=None,
        draw_length_convention=convention,
        draw_control="none" if is_estimate(archer) else archer.draw_control,
    )


def drawn_further(bow: Bow, more: Real) -> Bow:
    """Let a bow weighed at the archer's own draw push harder at one that is longer by so much."""
    weight = bow.draw_weight
    if weight is None or not _was_weighed(bow):
        return bow
    weight = weight + maximum(more, 0.0) * force_gradients(weight)[1]
    return dataclasses.replace(bow, draw_weight=weight)


def _was_weighed(bow: Bow) -> bool:
    """Tell whether a bow was weighed at the archer's own draw, on which its weight depends."""
    return bow.draw_weight_basis == "own_draw" and bow.kind != "compound"


class Trials(msgspec.Struct, frozen=True, gc=False):
    """The same archer, bow and arrow at any mean draw to the pivot point [m].

    What is known of the arrow alone, and of the draws' spread alone, is worked out once.
    """

    archer: Archer
    bow: Bow
    arrow: Arrow
    context: Context
    arrow_facts: ArrowFacts
    spread: Spread
    grown: float | None = None
    """The draw to which the archer may grow: what is left to grow is less at longer ones [m]."""
    weighed_at: float | None = None
    """The draw at which the bow was weighed: it pushes harder at longer ones [m]."""

    def at(self, draw: Real) -> Fitting:
        """Give the fitting at a draw, or those at a column of draws."""
        archer = drawing(self.archer, self.bow, draw)
        if self.grown is not None:
            archer = _change(archer, growth_allowance=self.grown - draw)
        bow = self.bow
        if self.weighed_at is not None:
            bow = drawn_further(bow, draw - self.weighed_at)
        return Fitting(archer=archer, bow=bow, arrow=self.arrow)

    def facts_of(self, fitting: Fitting, draw: Real) -> Facts:
        """Give the facts of the fitting at a draw; MixedError where a column of draws differs."""
        seen = self.spread.seen
        beyond = None if seen is None else draw + (seen - self.spread.mean)
        spread = replace(self.spread, mean=draw, seen=beyond)
        return facts_of(fitting, arrow_facts=self.arrow_facts, spread=spread)

    def check(self, draw: float, *, lengths_only: bool = False, again: bool = False) -> Outcome:
        """Ask all rules at a draw, or those that may set floors or ceilings.

        `again`: they were asked before, and are not counted any more.
        """
        fitting, context = self.at(draw), self.context
        facts = self.facts_of(fitting, draw)
        return evaluate(fitting, context.ruleset, context.local, lengths_only, facts, again)

    def check_many(
        self, draws: Column, lengths_only: bool = False, ruleset: RuleSet | None = None
    ) -> list[tuple[Column, OutcomeColumns]]:
        """Ask the same, or the rules of another set, at many draws, by those that are alike."""
        fitting, context = self.at(draws), self.context
        try:
            facts = self.facts_of(fitting, draws)
        except MixedError as mixed:
            parts = [draws[part] for part in mixed.parts]
            return [one for part in parts for one in self.check_many(part, lengths_only, ruleset)]
        return [
            (
                draws,
                evaluate_many(
                    fitting,
                    ruleset or context.ruleset,
                    draws.size,
                    context.local,
                    lengths_only,
                    facts,
                    again=True,
                ),
            )
        ]


def growing_trials(trials: Trials, now: Facts) -> Trials:
    """Let the bow push harder at draws to which the archer grows after it was weighed."""
    if not _was_weighed(trials.bow):
        return trials
    return replace(trials, weighed_at=float(now.draw) - float(now.growth_since_measured))


def spread_at_any(archer: Archer, bow: Bow) -> Spread:
    """Give what is known of the spread of an archer's draws, at any draw."""
    return spread_of(drawing(archer, bow, _ANY), bow)


def trials_of(archer: Archer, bow: Bow, arrow: Arrow, context: Context) -> Trials:
    """Make trials; FittingError if the arrow contradicts itself."""
    if faults := faults_of(arrow):
        raise FittingError(*faults)
    known = arrow_facts_of(arrow, pushed=bow.draw_weight is not None)
    return Trials(archer, bow, arrow, context, known, spread_at_any(archer, bow))
