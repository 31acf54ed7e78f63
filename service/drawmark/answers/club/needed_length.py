"""How long an arrow an archer needs, such that every longer one is long enough too."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from dataclasses import dataclass

from drawmark.answers.club.pairs import Shooter
from drawmark.answers.common.context import Context
from drawmark.answers.common.length_rules import evaluate_lengths
from drawmark.answers.common.minimum import minimum_length_of
from drawmark.fitting.mechanics.arrow_facts import ArrowFacts
from drawmark.fitting.model import Arrow
from drawmark.rules.outcome import Outcome


@dataclass(frozen=True, kw_only=True, slots=True)
class Need:
    """A length that an archer needs.

    Parameters
    ----------
    length : float
        Arrow length [m].
    determinate : bool
        False where a floor may be missing: it is at least so much.
    outcome : Outcome
        What the rules said where the largest floor was set.
    """

    length: float
    determinate: bool
    outcome: Outcome


def find_need(
    shooter: Shooter,
    arrow: Arrow | None,
    context: Context,
    arrow_facts: ArrowFacts | None = None,
) -> Need:
    """Find the length from which on every arrow is long enough.

    A clicker lets shorter arrows be safe, as long as their tip lies in its range; one that is
    longer, yet too short to be safe without the clicker, is not. So both are asked.
    """
    ways = [shooter]
    if shooter.archer.draw_control == "clicker":
        ways.append(without_clicker(shooter))
    return strictest(ask_lengths(one, arrow, context, arrow_facts) for one in ways)


def ask_lengths(
    shooter: Shooter,
    arrow: Arrow | None,
    context: Context,
    arrow_facts: ArrowFacts | None = None,
) -> Outcome:
    """Run the rules that may set floors or ceilings, with the archer's own inputs of them."""
    own = context.with_local(shooter.local)
    return evaluate_lengths(shooter.archer, shooter.bow, arrow, own, arrow_facts=arrow_facts)


def strictest(outcomes: Iterable[Outcome]) -> Need:
    """Take the largest minimum of several outcomes, in doubt where any of them is."""
    found = list(outcomes)
    largest = max(found, key=minimum_length_of)
    return Need(
        length=minimum_length_of(largest),
        determinate=all(outcome.determinate for outcome in found),
        outcome=largest,
    )


def without_clicker(shooter: Shooter) -> Shooter:
    """Give the same archer as if no clicker ended the draw."""
    return dataclasses.replace(
        shooter, archer=dataclasses.replace(shooter.archer, draw_control="none")
    )
