"""What the rules of a rule set said of one fitting."""

from __future__ import annotations

from typing import Generic, TypeVar

import msgspec

from drawmark.fitting.columns import Real
from drawmark.fitting.facts import Facts
from drawmark.rules.model import PRECEDENCE, Ceiling, Finding, Floor, Verdict

SaidT = TypeVar("SaidT", Floor, Ceiling, Finding)


class Attributed(msgspec.Struct, Generic[SaidT], frozen=True, gc=False):
    """What a rule said, with the plugin and the rule that said it."""

    plugin: str
    rule: str
    said: SaidT


# Caches of encoded lists look these up in every request.
class NotChecked(msgspec.Struct, frozen=True, gc=False, cache_hash=True):
    """A rule that was not run, since fields are missing.

    `rule` is empty where a whole plugin is absent; `fields` would allow it, alternatives with bars
    between them.
    """

    plugin: str
    rule: str
    what: str
    fields: tuple[str, ...] = ()


class Unevaluated(msgspec.Struct, frozen=True, gc=False):
    """A rule that should have spoken and could not; no rule where a whole plugin could not."""

    plugin: str
    rule: str
    reason: str


class Applied(msgspec.Struct, frozen=True, gc=False, cache_hash=True):
    """A plugin whose rules are in force."""

    plugin: str
    version: str


def sentence(text: str) -> str:
    """Give a text with a capital at its start and a full stop at its end."""
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '!', '?')) else '.'}"


class Outcome(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What all rules said together.

    Parameters
    ----------
    facts : Facts
        What the core worked out of the fitting.
    floors, ceilings, findings : tuple of Attributed
        What was said, the core's first.
    not_checked : tuple of NotChecked
        Rules that lack fields.
    unevaluated : tuple of Unevaluated
        Rules that failed, or are required and missing or lack fields.
    applied : tuple of Applied
        Plugins in force.
    minimum_usable : float
        Largest floor of the usable length, 0 where no rule set one [m].
    verdict : Verdict
        The worst of all findings.
    determinate : bool
        False where a rule that may set a floor could not be evaluated.
    """

    facts: Facts
    floors: tuple[Attributed[Floor], ...]
    ceilings: tuple[Attributed[Ceiling], ...]
    findings: tuple[Attributed[Finding], ...]
    not_checked: tuple[NotChecked, ...]
    unevaluated: tuple[Unevaluated, ...]
    applied: tuple[Applied, ...]
    minimum_usable: Real
    verdict: Verdict
    determinate: bool

    @property
    def is_safe(self) -> bool:
        """Neither stopped nor in doubt."""
        return PRECEDENCE[self.verdict] < PRECEDENCE["indeterminate"]
