"""The archers before the rack: what was found of all pairs, and any of them again."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from drawmark.answers.club.members import QueuedArcher, RackSet, check_archers, check_sets, local_of
from drawmark.answers.club.pairs import Pairs, Shooter, judge_pairs
from drawmark.answers.common.context import Context
from drawmark.fitting.columns import Mask, Whole
from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.mechanics.arrow_facts import ArrowFacts, arrow_facts_of_each
from drawmark.fitting.model import Arrow, Fitting
from drawmark.rules.evaluate import evaluate
from drawmark.rules.outcome import Outcome


@dataclass(frozen=True, kw_only=True, slots=True)
class RackSession:
    """Archers, sets, and what was found of each archer with each set.

    Parameters
    ----------
    archers, sets : tuple
        Those of the request.
    facts : tuple of Facts
        What is known of each archer without an arrow.
    shooters : tuple of Shooter
        The archers as the rules see them.
    arrows : tuple of Arrow
        The arrow of each set that is checked.
    arrow_facts : list of ArrowFacts
        What is known of each.
    pairs : Pairs
        What was found; archers are rows, sets columns.
    suits : Mask
        Whether the set states all that the archer's bow asks of it.
    each : int
        How many arrows an archer gets.
    capacity : column of int
        How many archers each set can serve.
    context : Context
        Rules in force.
    """

    archers: tuple[QueuedArcher, ...]
    sets: tuple[RackSet, ...]
    facts: tuple[Facts, ...]
    shooters: tuple[Shooter, ...]
    arrows: tuple[Arrow, ...]
    arrow_facts: list[ArrowFacts]
    pairs: Pairs
    suits: Mask
    each: int
    capacity: Whole
    context: Context

    def check(self, archer: int, place: int) -> Outcome:
        """Check one pair on its own."""
        return self.check_shooter(self.shooters[archer], place)

    def check_shooter(self, shooter: Shooter, place: int) -> Outcome:
        """Check an archer, who may hold another bow, with one set."""
        return self._check(shooter, self.arrows[place], self.arrow_facts[place])

    def check_without_shortest(self, archer: int, place: int) -> Outcome:
        """Check one pair as if the set's shortest arrow were set aside."""
        length = self.sets[place].next_shortest
        # What was weighed is that of the lightest, but the balance that of a shorter arrow.
        arrow = replace(self.arrows[place], length=length, balance_point=None)
        return self._check(self.shooters[archer], arrow, None)

    def _check(self, shooter: Shooter, arrow: Arrow, known: ArrowFacts | None) -> Outcome:
        fitting = Fitting(archer=shooter.archer, bow=shooter.bow, arrow=arrow)
        facts = facts_of(fitting, arrow_facts=known)
        return evaluate(fitting, self.context.ruleset, shooter.local, facts=facts)


def judge_rack(
    archers: tuple[QueuedArcher, ...], sets: tuple[RackSet, ...], each: int, context: Context
) -> RackSession:
    """Judge every archer, who gets `each` arrows, with every set; FittingError with all faults."""
    facts, arrows = check_archers(archers), check_sets(sets)
    shooters = tuple(
        Shooter(archer=one.archer, bow=one.bow, local=dict(local_of(one, context)))
        for one in archers
    )
    known = arrow_facts_of_each(arrows)
    return RackSession(
        archers=archers,
        sets=sets,
        facts=tuple(facts),
        shooters=shooters,
        arrows=arrows,
        arrow_facts=known,
        pairs=judge_pairs(shooters, arrows, known, context.ruleset),
        suits=_find_suited(archers, sets),
        each=each,
        capacity=np.array([one.count // each for one in sets]),
        context=context,
    )


def _find_suited(archers: tuple[QueuedArcher, ...], sets: tuple[RackSet, ...]) -> Mask:
    rows = {asked: [rack.suits(asked) for rack in sets] for asked in {one.asked for one in archers}}
    return np.array([rows[one.asked] for one in archers])
