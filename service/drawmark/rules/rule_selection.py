"""Which rules of a plugin can be asked, worked out once for each pattern of given fields."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple

from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.model import Case
from drawmark.rules.needs import compile_needs, fields_behind, is_fact
from drawmark.rules.outcome import NotChecked, Unevaluated

_MOST: Final = 4096


class Selection(NamedTuple):
    """The rules of a plugin that can be asked where certain fields are given.

    Parameters
    ----------
    rules : tuple of BoundRule
        Rules that have all they need.
    not_checked : tuple of NotChecked
        The others.
    unevaluated : tuple of Unevaluated
        Those of the others that are required, each with the fields that it lacks.
    determinate : bool
        No required rule that sets floors is left out.
    """

    rules: tuple[BoundRule, ...]
    not_checked: tuple[NotChecked, ...]
    unevaluated: tuple[Unevaluated, ...]
    determinate: bool


class RuleSelector:
    """Selects among some rules of one plugin."""

    def __init__(self, rules: Iterable[BoundRule]) -> None:
        self._rules = tuple(rules)
        needs = [need for rule in self._rules for need in rule.needs]
        behind = [field for need in needs if is_fact(need) for field in fields_behind(need, "")]
        subjects = [rule.rule.concerns for rule in self._rules if rule.rule.concerns is not None]
        self._needs = tuple(dict.fromkeys((*needs, *behind, *subjects)))
        self._are_met = compile_needs(self._needs)
        self._selections: dict[tuple[bool, ...], Selection] = {}

    def select(self, case: Case) -> Selection:
        """Give the selection for the fields that a case has."""
        are_met = self._are_met(case)
        selection = self._selections.get(are_met)
        if selection is None:
            if len(self._selections) >= _MOST:
                self._selections.clear()
            selection = self._selections[are_met] = self._make(are_met)
        return selection

    def _make(self, are_met: tuple[bool, ...]) -> Selection:
        met = {need for need, is_met in zip(self._needs, are_met, strict=True) if is_met}
        asked = tuple(rule for rule in self._rules if met.issuperset(rule.needs))
        left = [rule for rule in self._rules if not met.issuperset(rule.needs)]
        required = [rule for rule in left if rule.required]
        return Selection(
            rules=asked,
            not_checked=tuple(
                rule.not_checked(met)
                for rule in left
                if rule.required or rule.rule.concerns is None or rule.rule.concerns in met
            ),
            unevaluated=tuple(rule.unevaluated(met) for rule in required),
            determinate=not any(rule.sets_floors for rule in required),
        )
