"""A choice of lengths with which every archer was checked."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from drawmark.answers.club.needed_length import ask_lengths, find_need
from drawmark.answers.club.requirements import Requirement, ceiling_of
from drawmark.answers.common.context import Context
from drawmark.answers.common.minimum import minimum_length_of
from drawmark.fitting.kit.stock_lengths import LengthPlan, choose_lengths
from drawmark.fitting.limits import longer, shorter
from drawmark.fitting.model import Arrow

Clickers = Literal["none", "reached", "not_all_reached"]
UnsuitedReason = Literal["longer_than_allowed", "in_doubt"]
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
    """

    requirements: tuple[Requirement, ...]
    plan: LengthPlan
    clickers: Clickers
    unsuited: dict[int, UnsuitedReason]


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

    def choose(self, required: Sequence[Requirement]) -> Stock:
        """Choose lengths for archers; nobody gets one that was not checked."""
        requirements = list(required)
        tries: Counter[int] = Counter()
        while True:
            plan = self._plan(requirements, tries)
            bound = [at for at, one in enumerate(requirements) if one.clicker is not None]
            if plan.waste is None and not bound:
                break
            # Where so few lengths cannot reach every clicker they are safe without.
            give_up = [at for at in bound if plan.waste is None or at in plan.unsuited]
            for at in give_up:
                requirements[at] = requirements[at].without_clicker()
            if give_up:
                continue
            again = dict(self._check(requirements, plan))
            if not again:
                break
            for at, one in again.items():
                tries[at] += 1
                requirements[at] = one
        had = [one.clicker is not None for one in required]
        kept = [one.clicker is not None for one in requirements]
        return Stock(
            requirements=tuple(requirements),
            plan=plan,
            clickers="none" if not any(had) else "reached" if had == kept else "not_all_reached",
            unsuited={
                at: "in_doubt" if tries[at] > _TRIES else "longer_than_allowed"
                for at in plan.unsuited
            },
        )

    def _plan(self, requirements: Sequence[Requirement], tries: Counter[int]) -> LengthPlan:
        return choose_lengths(
            np.array([one.shortest.length for one in requirements]),
            self._most,
            # Of whom the rules say something else of every length that is tried gets none.
            longest=np.array(
                [0.0 if tries[at] > _TRIES else one.longest for at, one in enumerate(requirements)]
            ),
            arrows=np.full(len(requirements), self._each),
            increment=self._increment,
        )

    def _check(
        self, requirements: Sequence[Requirement], plan: LengthPlan
    ) -> Iterator[tuple[int, Requirement]]:
        """Find archers for whom the length chosen changes what they need or can use."""
        for stock in plan.lengths:
            arrow = dataclasses.replace(self._arrow, length=stock.length)
            for at in stock.archers:
                one = requirements[at]
                outcome = ask_lengths(one.shooter, arrow, self._context)
                ceiling = ceiling_of(outcome)
                if shorter(stock.length, minimum_length_of(outcome)):
                    more = find_need(one.shooter, arrow, self._context)
                    need = max(one.need, more, key=lambda found: found.length)
                    yield at, dataclasses.replace(one, need=need, clicker=None)
                elif longer(stock.length, ceiling):
                    yield at, dataclasses.replace(one, ceiling=ceiling)
                elif one.shortest.determinate and not outcome.determinate:
                    need = dataclasses.replace(one.need, determinate=False, outcome=outcome)
                    yield at, dataclasses.replace(one, need=need, clicker=None)
