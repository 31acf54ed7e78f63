"""What lengths each of a club's archers needs and can use."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from drawmark.answers.club.members import ClubArcher, check_archers, local_of
from drawmark.answers.club.needed_length import (
    Need,
    ask_lengths,
    find_need,
    strictest,
    without_clicker,
)
from drawmark.answers.club.pairs import Shooter
from drawmark.answers.common.advice import is_growing
from drawmark.answers.common.context import Context
from drawmark.answers.common.minimum import clicker_reach
from drawmark.answers.common.recommended_window import window_in
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.limits import longer
from drawmark.fitting.mechanics.arrow_validation import faults_of
from drawmark.fitting.model import Arrow, Bow
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules.outcome import Outcome

# What is bought is reported rounded up: it must still be within what an archer can use.
_ROUNDING: Final = max(unit.resolution * unit.factor for unit in DIMENSIONS["length"])


@dataclass(frozen=True, kw_only=True, slots=True)
class Requirement:
    """What one archer needs.

    Parameters
    ----------
    id : str
        The archer.
    shooter : Shooter
        The archer with a bow.
    need : Need
        The length from which on every arrow is long enough.
    clicker : Need or None
        The shortest length that is safe by the clicker and reaches it, where it counts.
    reach : float
        The longest that reaches the clicker [m].
    ceiling : float
        Longest arrow that a local rule allows [m].
    recommended : float
        The length to buy where no clicker counts [m].
    recommended_at_clicker : float
        The length to buy where one does [m].
    """

    id: str
    shooter: Shooter
    need: Need
    clicker: Need | None
    reach: float
    ceiling: float
    recommended: float
    recommended_at_clicker: float

    @property
    def wanted(self) -> float:
        """The recommended length, the shortest that is bought for this archer [m]."""
        return self.recommended if self.clicker is None else self.recommended_at_clicker

    @property
    def shortest(self) -> Need:
        """The shortest arrow that serves."""
        return self.need if self.clicker is None else self.clicker

    @property
    def longest(self) -> float:
        """Longest arrow that serves, infinite where there is no bound [m]."""
        return self.ceiling if self.clicker is None else min(self.reach, self.ceiling)

    def without_clicker(self) -> Requirement:
        """Give the same for lengths that are safe whether or not they reach the clicker."""
        return dataclasses.replace(self, clicker=None)


def gather_requirements(
    archers: Sequence[ClubArcher],
    arrow: Arrow | None,
    context: Context,
    increment: float | None = None,
) -> tuple[Requirement, ...]:
    """Work out what each archer needs; FittingError with the faults of all of them."""
    if arrow is not None:
        faults = faults_of(arrow)
        if arrow.length is not None:
            faults.append(
                Fault(
                    path=("arrow", "length"),
                    detail=("must be left out: the answer gives the length"),
                )
            )
        if faults:
            raise FittingError(*faults)
    check_archers(archers)
    return tuple(_requirement_of(one, arrow, context, increment) for one in archers)


def _requirement_of(
    one: ClubArcher, arrow: Arrow | None, context: Context, increment: float | None
) -> Requirement:
    shooter = Shooter(archer=one.archer, bow=one.bow, local=dict(local_of(one, context)))
    outcome = ask_lengths(shooter, arrow, context)
    clicker, reach = _reach(outcome, shooter, arrow)
    if is_growing(outcome.facts):
        # A clicker must move with a growing draw, and the set is to last until then.
        clicker, reach = None, math.inf
    need = find_need(shooter, arrow, context)
    at_clicker = recommended_of(outcome, shooter.bow, arrow, increment)
    counts = outcome.facts.control == "clicker"
    free = ask_lengths(without_clicker(shooter), arrow, context) if counts else outcome
    return Requirement(
        id=one.id,
        shooter=shooter,
        need=need,
        clicker=clicker,
        reach=reach,
        ceiling=ceiling_of(outcome),
        recommended=max(need.length, recommended_of(free, shooter.bow, arrow, increment)),
        recommended_at_clicker=at_clicker,
    )


def recommended_of(
    outcome: Outcome, bow: Bow, arrow: Arrow | None, increment: float | None
) -> float:
    """Give the recommended length [m]; where none is, the shortest of usual length."""
    window = window_in(outcome, bow, arrow, increment)
    if window.figure is None:
        return window.shortest
    return max(window.shortest, min(window.figure, ceiling_of(outcome)))


def ceiling_of(outcome: Outcome) -> float:
    """Give the longest arrow that local rules allow and that may be reported rounded up [m]."""
    ceilings = (float(placed.said.length) for placed in outcome.ceilings)
    return min(ceilings, default=math.inf) - _ROUNDING


def _reach(outcome: Outcome, shooter: Shooter, arrow: Arrow | None) -> tuple[Need | None, float]:
    lengths = clicker_reach(outcome.facts, shooter.bow, arrow)
    if lengths is None:
        return None, math.inf
    shortest, longest = map(float, lengths)
    safe, reach = strictest([outcome]), longest - _ROUNDING
    need = dataclasses.replace(safe, length=max(shortest, safe.length))
    return (None, math.inf) if longer(need.length, reach) else (need, reach)
