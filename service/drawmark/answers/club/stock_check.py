"""A choice of lengths with which every archer was checked."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from msgspec.structs import replace

from drawmark.answers.club.needed_length import find_need
from drawmark.answers.club.requirements import Requirement, ceiling_of, recommended_of
from drawmark.answers.common.archer_at_draw import Trials, spread_at_any
from drawmark.answers.common.context import Context
from drawmark.answers.common.draws_between import object_within
from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.kit.stock_lengths import LengthPlan, choose_lengths
from drawmark.fitting.limits import longer, shorter
from drawmark.fitting.mechanics.arrow_facts import ArrowFacts, arrow_facts_of
from drawmark.fitting.mechanics.arrow_validation import faults_of
from drawmark.fitting.model import Arrow, Fitting
from drawmark.fitting.rounding import round_up
from drawmark.rules.evaluate import evaluate
from drawmark.rules.outcome import Outcome, Unevaluated

Clickers = Literal["none", "reached", "not_all_reached"]
UnsuitedReason = Literal["longer_than_allowed", "stopped", "in_doubt"]
_TRIES: Final = 6


@dataclass(frozen=True, kw_only=True, slots=True)
class Stock:
    """Lengths that serve everyone but the unsuited.

    Parameters
    ----------
    requirements : tuple of Requirement
        What the archers need, with what their own length brought to light.
    plan : LengthPlan
        The lengths; archers are places in `requirements`.
    clickers : Clickers
        Whether every clicker that counts is reached by its archer's length. Where it is not,
        the length is safe without.
    unsuited : dict
        Places of archers without a length, and why.
    checks : dict
        Places of the others to what their fit check with the length says.
    """

    requirements: tuple[Requirement, ...]
    plan: LengthPlan
    clickers: Clickers
    unsuited: dict[int, UnsuitedReason]
    checks: dict[int, Outcome]


class Buyer:
    """Chooses lengths, checks every archer with the one chosen, and chooses again.

    Parameters
    ----------
    arrow : Arrow or None
        What is known of the arrows to be bought.
    context : Context
        Rules in force.
    most : int
        How many different lengths may be bought.
    each : int
        Arrows of a set.
    increment : float or None
        Lengths are multiples of this [m].
    """

    def __init__(
        self, arrow: Arrow | None, context: Context, most: int, each: int, increment: float | None
    ) -> None:
        self._arrow = arrow or Arrow()
        self._context, self._most, self._each = context, most, each
        self._increment = increment
        self._cuts: dict[float, tuple[Arrow, ArrowFacts]] = {}

    def choose(self, required: Sequence[Requirement]) -> Stock:
        """Choose lengths for archers; nobody gets one that was not checked."""
        requirements = list(required)
        tries: Counter[int] = Counter()
        refused: dict[int, UnsuitedReason] = {}
        checks: dict[int, tuple[float, Outcome]] = {}
        while True:
            plan = self._plan(requirements, refused)
            bound = [at for at, one in enumerate(requirements) if one.clicker is not None]
            if plan.waste is None and not bound:
                break
            # Where so few lengths cannot reach every clicker they are safe without.
            give_up = [at for at in bound if plan.waste is None or at in plan.unsuited]
            for at in give_up:
                requirements[at] = requirements[at].without_clicker()
            if give_up:
                continue
            checks = dict(self._check(requirements, plan))
            again = {
                at: changed
                for at, (length, outcome) in checks.items()
                if (changed := self._learn(requirements[at], length, outcome)) is not None
            }
            if not again:
                break
            for at, one in again.items():
                tries[at] += 1
                if one is requirements[at]:
                    refused[at] = "stopped"
                elif tries[at] > _TRIES:
                    # Of whom the rules say something else of every length that is tried.
                    refused[at] = "in_doubt"
                requirements[at] = one
        had = [one.clicker is not None for one in required]
        kept = [one.clicker is not None for one in requirements]
        return Stock(
            requirements=tuple(requirements),
            plan=plan,
            clickers="none" if not any(had) else "reached" if had == kept else "not_all_reached",
            unsuited={at: refused.get(at, "longer_than_allowed") for at in plan.unsuited},
            checks={at: outcome for at, (_, outcome) in checks.items()} if plan.lengths else {},
        )

    def _plan(self, requirements: Sequence[Requirement], refused: Container[int]) -> LengthPlan:
        return choose_lengths(
            np.array([one.wanted for one in requirements]),
            self._most,
            longest=np.array(
                [0.0 if at in refused else one.longest for at, one in enumerate(requirements)]
            ),
            arrows=np.full(len(requirements), self._each),
            increment=self._increment,
        )

    def _check(
        self, requirements: Sequence[Requirement], plan: LengthPlan
    ) -> Iterator[tuple[int, tuple[float, Outcome]]]:
        """Check every archer in full with the length chosen."""
        for stock in plan.lengths:
            for at in stock.archers:
                yield at, (stock.length, self._outcome_at(requirements[at], stock.length))

    def _outcome_at(self, one: Requirement, length: float) -> Outcome:
        shooter, (arrow, known) = one.shooter, self._at_length(length)
        fitting = Fitting(archer=shooter.archer, bow=shooter.bow, arrow=arrow)
        facts = facts_of(fitting, arrow_facts=known)
        outcome = evaluate(fitting, self._context.ruleset, shooter.local, facts=facts)
        if not (outcome.is_safe and facts.growth):
            return outcome
        context = self._context.with_local(shooter.local)
        trials = Trials(
            shooter.archer,
            shooter.bow,
            arrow,
            context,
            known,
            spread_at_any(shooter.archer, shooter.bow),
        )
        objection = object_within(trials, float(facts.draw), float(facts.growth))
        if objection is None:
            return outcome
        reason = f"{objection}. An archer may grow to that draw before the next check."
        said = Unevaluated(objection.plugin, objection.rule, reason)
        return replace(outcome, verdict="indeterminate", unevaluated=(*outcome.unevaluated, said))

    def _at_length(self, length: float) -> tuple[Arrow, ArrowFacts]:
        """Give the arrow at a length, and what is known of it."""
        if length not in self._cuts:
            arrow = dataclasses.replace(self._arrow, length=length)
            if faults := faults_of(arrow):
                raise FittingError(*faults)
            self._cuts[length] = arrow, arrow_facts_of(arrow)
        return self._cuts[length]

    def _learn(self, one: Requirement, length: float, outcome: Outcome) -> Requirement | None:
        """Tell what a check changes: None if nothing, the same if no length will do."""
        arrow, known = self._at_length(length)
        recommended = recommended_of(outcome, one.shooter.bow, arrow, self._increment)
        ceiling = ceiling_of(outcome)
        if shorter(length, recommended):
            more = find_need(one.shooter, arrow, self._context, known)
            need = max(one.need, more, key=lambda found: found.length)
            return dataclasses.replace(one, need=need, recommended=recommended, clicker=None)
        if longer(length, ceiling):
            return dataclasses.replace(one, ceiling=ceiling)
        if outcome.verdict == "stop":
            # A longer arrow is weaker, so the recommended length may do where this one does not.
            least = float(round_up(one.wanted, self._increment))
            if not longer(length, least) or self._outcome_at(one, least).verdict == "stop":
                return one
            return dataclasses.replace(one, ceiling=least)
        if one.shortest.determinate and not outcome.determinate:
            need = dataclasses.replace(one.need, determinate=False, outcome=outcome)
            return dataclasses.replace(one, need=need, clicker=None)
        return None
