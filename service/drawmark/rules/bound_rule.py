"""A rule in force in a rule set: bound to its plugin, its settings and what the club requires."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass, field, fields
from typing import Any

from drawmark.fitting.fields import is_required
from drawmark.rules.model import Check, Rule
from drawmark.rules.needs import fields_behind
from drawmark.rules.outcome import NotChecked, Unevaluated


@dataclass(frozen=True, kw_only=True, slots=True)
class BoundRule:
    """A rule in force, with what every evaluation asks of it worked out beforehand.

    Parameters
    ----------
    plugin, version : str
        Whose rule it is.
    rule : Rule
        The rule.
    settings : Any
        The plugin's settings in this rule set.
    required : bool
        Where its fields are missing the verdict is at least indeterminate.

    Attributes
    ----------
    key : tuple of str
        Plugin and rule.
    call, column_call : tuple
        Key and check; of single cases, and of columns where there is one.
    needs : tuple of str
        Fields it cannot do without, its own part of the request included.
    sets_floors, sets_lengths : bool
        It may set a floor; a floor or a ceiling.
    """

    plugin: str
    version: str
    rule: Rule
    settings: Any = None
    required: bool = False
    key: tuple[str, str] = field(init=False)
    call: tuple[tuple[str, str], Check] = field(init=False, repr=False)
    column_call: Any = field(init=False, repr=False)
    needs: tuple[str, ...] = field(init=False, repr=False)
    sets_floors: bool = field(init=False)
    sets_lengths: bool = field(init=False)

    def __post_init__(self) -> None:
        """Work out the attributes."""
        rule, key = self.rule, (self.plugin, self.rule.id)
        needs_inputs = rule.inputs is not None and any(map(is_required, fields(rule.inputs)))
        worked_out = {
            "key": key,
            "call": (key, rule.check),
            "column_call": None if rule.check_many is None else (key, rule.check_many),
            "needs": (*rule.needs, *(["local"] if needs_inputs else [])),
            "sets_floors": "floor" in rule.gives,
            "sets_lengths": bool(rule.gives & {"floor", "ceiling"}),
        }
        for name, value in worked_out.items():
            object.__setattr__(self, name, value)

    def not_checked(self, met: Container[str]) -> NotChecked:
        """Name the fields that would allow this rule, beside the needs that are met."""
        missing = [
            path
            for need in self.needs
            if need not in met
            for path in _missing(fields_behind(need, self.plugin), met)
        ]
        return NotChecked(self.plugin, self.rule.id, self.rule.title, tuple(dict.fromkeys(missing)))

    def unevaluated(self, met: Container[str]) -> Unevaluated:
        """Say which fields would allow this rule, which is required."""
        fields = ", and ".join(self.not_checked(met).fields).replace("|", " or ")
        reason = f"The rule is required and lacks what it needs. Give {fields}, then ask again."
        return Unevaluated(self.plugin, self.rule.id, reason)


def _missing(paths: tuple[str, ...], met: Container[str]) -> tuple[str, ...]:
    # Where all are given, and the fact is still not known, nobody can say which is at fault.
    return tuple(path for path in paths if path not in met) or paths
