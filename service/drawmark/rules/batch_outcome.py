"""What the rules said of many fittings at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, NamedTuple

import msgspec
import numpy as np
from numpy.typing import NDArray

from drawmark.fitting.columns import Column, Mask, Truth, Whole
from drawmark.fitting.facts import Facts
from drawmark.rules.collector import Collector
from drawmark.rules.column_trees import picker
from drawmark.rules.model import PRECEDENCE, VERDICTS, Finding
from drawmark.rules.outcome import Applied, Attributed, Outcome, Unevaluated

Order = Mapping[tuple[str, str], int]
"""Rules to their place in the rule set."""


class DecidingFinding(NamedTuple):
    """A finding that made verdicts.

    Parameters
    ----------
    place : int
        Where it stands among the findings of an item.
    finding : Attributed
        The finding, with columns for all items or of one item alone.
    items : column of int
        Whose verdict it made.
    """

    place: int
    finding: Attributed[Finding]
    items: Whole


class OutcomeColumns(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What all rules said together of a column of fittings.

    Parameters
    ----------
    size : int
        Number of items.
    facts : Facts
        What the core worked out, in columns.
    common : Collector
        What was said of all items, with columns.
    own : mapping
        Items to what was said of them alone.
    applied : tuple of Applied
        Plugins in force.
    minimum_usable : column
        Largest floor of each item, 0 where no rule set one [m].
    severities : column of int8
        Verdict of each item, as its place in `VERDICTS`.
    determinate : mask
        False where a rule that may set a floor could not be evaluated.
    order : mapping
        Rules to their place in the rule set.
    """

    size: int
    facts: Facts
    common: Collector
    own: Mapping[int, Collector]
    applied: tuple[Applied, ...]
    minimum_usable: Column
    severities: NDArray[np.int8]
    determinate: Mask
    order: Order

    def verdicts(self) -> list[str]:
        """Give the verdict of each item."""
        return [VERDICTS[severity] for severity in self.severities.tolist()]

    def deciding(self) -> list[DecidingFinding]:
        """Give the findings that made verdicts; where an item passes none does."""
        found = []
        for place, finding in self._ranked(self.common):
            severity = PRECEDENCE[finding.said.severity]
            if severity:
                decided = mask(finding.said.when, self.size) & (self.severities == severity)
                if decided.any():
                    found.append(DecidingFinding(place, finding, np.flatnonzero(decided)))
        for at, said in self.own.items():
            worst = int(self.severities[at])
            found += [
                DecidingFinding(place, finding, np.array([at]))
                for place, finding in self._ranked(said)
                if worst and PRECEDENCE[finding.said.severity] == worst
            ]
        return found

    def _ranked(self, said: Collector) -> list[tuple[int, Attributed[Finding]]]:
        ranked = [(_place(finding, self.order), finding) for finding in said.findings]
        return [*ranked, *enumerate(said.length_findings, len(self.order))]

    def unevaluated_of(self, at: int) -> tuple[Unevaluated, ...]:
        """Give the rules that failed or are missing for one item."""
        own = self.own[at].unevaluated if at in self.own else []
        return _by_rule([*self.common.unevaluated, *own], self.order)

    def item(self, at: int) -> Outcome:
        """Give the outcome of one item, as if it had been evaluated alone."""
        common, own = self.common, self.own.get(at, Collector())
        pickers = {
            name: [picker(one) for one in getattr(common, name)]
            for name in ("floors", "ceilings", "findings", "length_findings")
        }
        # Those that follow from lengths keep their order: an item has them together or alone.
        length_findings = merge(pickers["length_findings"], own.length_findings, at, {})
        return Outcome(
            facts=picker(self.facts)(at),
            floors=merge(pickers["floors"], own.floors, at, self.order),
            ceilings=merge(pickers["ceilings"], own.ceilings, at, self.order),
            findings=(
                *merge(pickers["findings"], own.findings, at, self.order),
                *length_findings,
            ),
            not_checked=tuple(common.not_checked),
            unevaluated=self.unevaluated_of(at),
            applied=self.applied,
            minimum_usable=float(self.minimum_usable[at]),
            verdict=VERDICTS[int(self.severities[at])],
            determinate=bool(self.determinate[at]),
        )


def merge(
    pickers: Iterable[Callable[[int], Any]], own: Iterable[Any], at: int, order: Order
) -> tuple[Any, ...]:
    """Give what was said of an item, picked from columns and of it alone, in the rules' order."""
    picked = (pick(at) for pick in pickers)
    return _by_rule([one for one in (*picked, *own) if one.said.when], order)


def _by_rule(said: list[Any], order: Order) -> tuple[Any, ...]:
    return tuple(sorted(said, key=lambda one: _place(one, order)))


def _place(said: Any, order: Order) -> int:
    # What a whole plugin could not say comes first.
    return order.get((said.plugin, said.rule), -1)


def mask(when: Truth, size: int) -> Mask:
    """Spread a condition over all items."""
    return when if isinstance(when, np.ndarray) else np.full(size, bool(when))
