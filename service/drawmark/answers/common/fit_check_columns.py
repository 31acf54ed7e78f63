"""Many fit checks at once, in columns: what detail "verdict" gives for each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from drawmark.answers.common.context import Context
from drawmark.answers.common.minimum import shortest_safe
from drawmark.deadline import deadline
from drawmark.fitting.columns import Column, Mask, Real
from drawmark.fitting.draw.control import exposed_of
from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.arrow_facts import ArrowFacts, arrow_facts_of_each
from drawmark.fitting.mechanics.arrow_validation import faults_of, has_stations
from drawmark.fitting.model import Arrow, Fitting
from drawmark.fitting.window import windows_of
from drawmark.rules.batch_outcome import OutcomeColumns
from drawmark.rules.column_trees import picker, stack_alike
from drawmark.rules.evaluate_batch import evaluate_many


@dataclass(frozen=True, kw_only=True, slots=True)
class Checks:
    """What was found of each item.

    Parameters
    ----------
    outcome : OutcomeColumns
        What the rules said.
    minimum : column
        Minimum safe arrow length [m].
    recommended : column
        The length to choose [m].
    recommends : mask
        Where a length serves at all.
    """

    outcome: OutcomeColumns
    minimum: Column
    recommended: Column
    recommends: Mask


def check_all(fitting: Fitting, increment: float | None, size: int, context: Context) -> Checks:
    """Check a column of fittings that are alike in which fields they have."""
    bow, arrow = fitting.bow, fitting.arrow
    assert bow is not None
    of_arrow = _facts_of_tapered(arrow, size) if arrow and has_stations(arrow) else None
    known = facts_of(fitting, arrow_facts=of_arrow)
    outcome = evaluate_many(fitting, context.ruleset, size, context.local, facts=known)
    facts = outcome.facts
    minimum = outcome.minimum_usable + facts.sleeve
    _, _, figure, empty = windows_of(
        facts,
        bow,
        exposed_of(arrow),
        minimum,
        ceiling_of(outcome),
        increment,
    )
    return Checks(
        outcome=outcome,
        minimum=_column(shortest_safe(minimum, facts, bow, arrow), size),
        recommended=_column(figure, size),
        recommends=~_column(empty, size),
    )


def _facts_of_tapered(arrows: Arrow, size: int) -> ArrowFacts:
    """Work out what is known of arrows with stations, which are solved in a stack."""
    if faults := faults_of(arrows):
        raise FittingError(*faults)
    pick, picked = picker(arrows), []
    for at in range(size):
        deadline.check()
        picked.append(pick(at))
    return stack_alike(arrow_facts_of_each(picked))


def ceiling_of(outcome: OutcomeColumns) -> Real | None:
    """Give the least ceiling of each item, infinite where it has none."""
    own = [(at, said.ceilings) for at, said in outcome.own.items() if said.ceilings]
    if not outcome.common.ceilings and not own:
        return None
    least = np.full(outcome.size, np.inf)
    for placed in outcome.common.ceilings:
        np.minimum(least, placed.said.length, out=least)
    for at, ceilings in own:
        least[at] = min(least[at], *(placed.said.length for placed in ceilings))
    return least


def _column(value: Any, size: int) -> Any:
    return np.broadcast_to(np.asarray(value), (size,))
