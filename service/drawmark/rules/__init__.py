"""Local rules: everything a plugin needs to add rules of its own.

A plugin is a module with one hook::

    from drawmark import rules


    def check(case):
        yield rules.floor(case.facts.draw + rules.inches(3), "our hall asks for 3 in")


    @rules.hookimpl
    def drawmark_rules():
        return [rules.Rule(id="hall-margin", title="Length in our hall.", check=check)]

Figures are in SI units. A rule can make an answer stricter, never less strict.
"""

from __future__ import annotations

from typing import Final, Protocol

from drawmark.fitting.columns import Real, Truth
from drawmark.fitting.facts import Facts
from drawmark.fitting.fields import (
    choice,
    deprecated,
    flag,
    force,
    length,
    mass,
    number,
    quantity,
    text,
    whole,
)
from drawmark.fitting.floors import Term
from drawmark.fitting.limits import less, longer, more, shorter
from drawmark.fitting.model import Archer, Arrow, Bow
from drawmark.rules.hook import hookimpl
from drawmark.rules.model import Case, Ceiling, Finding, Floor, Measure, Rule, Said, Severity
from drawmark.rules.plugin_units import (
    grains,
    grains_per_inch,
    grams,
    grams_per_metre,
    inches,
    mm,
    newtons,
    pounds_force,
    spine_astm,
    spine_wood,
)

API_VERSION: Final = "1.1"
"""Grows by 0.1 with what is added; the whole part is that of the entry-point group."""

__all__ = [
    "API_VERSION",
    "Archer",
    "Arrow",
    "Bow",
    "Case",
    "Ceiling",
    "Facts",
    "Finding",
    "Floor",
    "Measure",
    "Real",
    "Rule",
    "Said",
    "Term",
    "Truth",
    "caution",
    "ceiling",
    "choice",
    "deprecated",
    "flag",
    "floor",
    "force",
    "grains",
    "grains_per_inch",
    "grams",
    "grams_per_metre",
    "hookimpl",
    "inches",
    "indeterminate",
    "length",
    "less",
    "longer",
    "mass",
    "mm",
    "more",
    "newtons",
    "note",
    "number",
    "pounds_force",
    "quantity",
    "shorter",
    "spine_astm",
    "spine_wood",
    "stop",
    "text",
    "whole",
]


class _FindingOf(Protocol):
    def __call__(
        self,
        message: str,
        *,
        when: Truth = True,
        measured: Measure | None = None,
        limit: Measure | None = None,
        source: str | None = None,
        fields: tuple[str, ...] = (),
    ) -> Finding: ...


_FINDING: Final = """\
Parameters
----------
message : str
    What the archer is told, in plain words.
when : bool or mask
    Where it holds.
measured, limit : Measure or None
    What was found and what it is held against.
source : str or None
    Where it comes from: a key of the core's sources, or words.
fields : tuple of str
    Fields of the request that it is about.

Returns
-------
Finding
    For the rule to yield.
"""


def _finding_of(severity: Severity, meaning: str) -> _FindingOf:
    def make(
        message: str,
        *,
        when: Truth = True,
        measured: Measure | None = None,
        limit: Measure | None = None,
        source: str | None = None,
        fields: tuple[str, ...] = (),
    ) -> Finding:
        return Finding(
            severity=severity,
            message=message,
            when=when,
            measured=measured,
            limit=limit,
            source=source,
            fields=fields,
        )

    make.__name__ = make.__qualname__ = severity
    make.__doc__ = f"{meaning}\n\n{_FINDING}"
    return make


note: Final = _finding_of("note", "Say something that does not affect the verdict.")
caution: Final = _finding_of(
    "caution", "Say that something needs care: at best the verdict is caution."
)
indeterminate: Final = _finding_of(
    "indeterminate", "Say that this cannot be judged: the verdict is at least indeterminate."
)
stop: Final = _finding_of("stop", "Say that these arrows must not be shot: the verdict is stop.")


def floor(
    length: Real,
    reason: str,
    *,
    when: Truth = True,
    id: str | None = None,
    terms: tuple[Term, ...] = (),
    source: str | None = None,
) -> Floor:
    """Set the least usable length: arrow length less a collar that slides back.

    Parameters
    ----------
    length : float or column
        The least length [m].
    reason : str
        Why, in one sentence.
    when : bool or mask
        Where it holds.
    id : str or None
        Name of the floor; the rule's own where None.
    terms : tuple of Term
        What it is the sum of [m].
    source : str or None
        Where it comes from: a key of the core's sources, or words.

    Returns
    -------
    Floor
        For the rule to yield.
    """
    return Floor(length=length, reason=reason, when=when, id=id, terms=terms, source=source)


def ceiling(
    length: Real,
    reason: str,
    *,
    when: Truth = True,
    id: str | None = None,
    source: str | None = None,
) -> Ceiling:
    """Set the greatest arrow length; a longer arrow is a caution, never cut by advice.

    Parameters
    ----------
    length : float or column
        The greatest length [m].
    reason : str
        Why, in one sentence.
    when : bool or mask
        Where it holds.
    id : str or None
        Name of the ceiling; the rule's own where None.
    source : str or None
        Where it comes from: a key of the core's sources, or words.

    Returns
    -------
    Ceiling
        For the rule to yield.
    """
    return Ceiling(length=length, reason=reason, when=when, id=id, source=source)
