"""What the rules said of many fittings at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

import msgspec
import numpy as np
from numpy.typing import NDArray

from drawmark.fitting.columns import Column, Mask, Truth, Whole
from drawmark.fitting.facts import Facts
from drawmark.rules.column_trees import picker
from drawmark.rules.model import PRECEDENCE, VERDICTS, Ceiling, Finding, Floor
from drawmark.rules.outcome import (
    Applied,
    NotChecked,
    Outcome,
    Placed,
    Unevaluated,
)

Severities = NDArray[np.int8]


class Apart(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What rules said of one item that they were asked about on its own."""

    floors: tuple[Placed[Floor], ...] = ()
    ceilings: tuple[Placed[Ceiling], ...] = ()
    findings: tuple[Placed[Finding], ...] = ()
    length_findings: tuple[Placed[Finding], ...] = ()
    unevaluated: tuple[Unevaluated, ...] = ()


class Deciding(NamedTuple):
    """A finding that made verdicts.

    Parameters
    ----------
    place : int
        Where it stands among the findings of an item.
    placed : Placed
        The finding, with columns for all items or of one item alone.
    items : column of int
        Whose verdict it made.
    """

    place: int
    placed: Placed[Finding]
    items: Whole


class OutcomeColumns(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What all rules said together of a column of fittings.

    Parameters
    ----------
    size : int
        Number of items.
    facts : Facts
        What the core worked out, in columns.
    floors, ceilings, findings, length_findings : tuple of Placed
        What was said of all items, with columns; `length_findings` follow from the floors and
        ceilings.
    not_checked : tuple of NotChecked
        Rules that lack fields, for every item.
    unevaluated : tuple of Unevaluated
        Rules that failed or are missing, for every item.
    applied : tuple of Applied
        Plugins in force.
    minimum_usable : column
        Largest floor of each item, 0 where no rule set one [m].
    severities : column of int8
        Verdict of each item, as its place in `VERDICTS`.
    determinate : mask
        False where a rule that may set a floor could not be evaluated.
    apart : mapping
        Items to what was said of them alone.
    order : mapping
        Rules to their place in the rule set.
    """

    size: int
    facts: Facts
    floors: tuple[Placed[Floor], ...]
    ceilings: tuple[Placed[Ceiling], ...]
    findings: tuple[Placed[Finding], ...]
    length_findings: tuple[Placed[Finding], ...]
    not_checked: tuple[NotChecked, ...]
    unevaluated: tuple[Unevaluated, ...]
    applied: tuple[Applied, ...]
    minimum_usable: Column
    severities: Severities
    determinate: Mask
    apart: Mapping[int, Apart]
    order: Mapping[tuple[str, str], int]

    def verdicts(self) -> list[str]:
        """Give the verdict of each item."""
        return [VERDICTS[severity] for severity in self.severities.tolist()]

    def deciding(self) -> list[Deciding]:
        """Give the findings that made verdicts; where an item passes none does."""
        found = []
        ranked = [(self._rank(placed), placed) for placed in self.findings]
        ranked += enumerate(self.length_findings, len(self.order))
        for place, placed in ranked:
            severity = PRECEDENCE[placed.said.severity]
            if severity:
                decided = mask(placed.said.when, self.size) & (self.severities == severity)
                if decided.any():
                    found.append(Deciding(place, placed, np.flatnonzero(decided)))
        for at, apart in self.apart.items():
            worst = int(self.severities[at])
            ranked = [(self._rank(placed), placed) for placed in apart.findings]
            ranked += enumerate(apart.length_findings, len(self.order))
            found += [
                Deciding(place, placed, np.array([at]))
                for place, placed in ranked
                if worst and PRECEDENCE[placed.said.severity] == worst
            ]
        return found

    def _rank(self, placed: Placed[Finding]) -> int:
        return self.order.get((placed.plugin, placed.rule), -1)

    def unevaluated_of(self, at: int) -> tuple[Unevaluated, ...]:
        """Give the rules that failed or are missing for one item."""
        apart = self.apart.get(at, Apart())
        return tuple(self._by_rule([*self.unevaluated, *apart.unevaluated]))

    def item(self, at: int) -> Outcome:
        """Give the outcome of one item, as if it had been evaluated alone."""
        apart = self.apart.get(at, Apart())
        findings = self._sorted(self.findings, apart.findings, at)
        # Those that follow from lengths keep their order: an item has them together or alone.
        length_findings = (*self._held(self.length_findings, at), *apart.length_findings)
        return Outcome(
            facts=picker(self.facts)(at),
            floors=tuple(self._sorted(self.floors, apart.floors, at)),
            ceilings=tuple(self._sorted(self.ceilings, apart.ceilings, at)),
            findings=(*findings, *length_findings),
            not_checked=self.not_checked,
            unevaluated=self.unevaluated_of(at),
            applied=self.applied,
            minimum_usable=float(self.minimum_usable[at]),
            verdict=VERDICTS[int(self.severities[at])],
            determinate=bool(self.determinate[at]),
        )

    def _sorted(self, said: tuple[Any, ...], alone: tuple[Any, ...], at: int) -> list[Any]:
        return self._by_rule([*self._held(said, at), *alone])

    def _held(self, said: tuple[Any, ...], at: int) -> list[Any]:
        return [picker(placed)(at) for placed in said if holds(placed.said.when, at)]

    def _by_rule(self, placed: list[Any]) -> list[Any]:
        return sorted(placed, key=lambda one: self.order.get((one.plugin, one.rule), -1))


def holds(when: Truth, at: int) -> bool:
    """Tell whether a condition holds for one item."""
    return bool(when[at]) if isinstance(when, np.ndarray) else bool(when)


def mask(when: Truth, size: int) -> Mask:
    """Spread a condition over all items."""
    return when if isinstance(when, np.ndarray) else np.full(size, bool(when))
