"""Which rules of a plugin can be asked, worked out once for each pattern of given fields."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final, NamedTuple

from drawmark.rules.model import PRECEDENCE, Case, Check
from drawmark.rules.needs import compile_needs, fields_behind, is_fact
from drawmark.rules.outcome import NotChecked

if TYPE_CHECKING:
    from drawmark.rules.binding import BoundRule

_MOST: Final = 4096


class Plan(NamedTuple):
    """What becomes of a plugin's rules where certain fields are given.

    Parameters
    ----------
    asked : tuple of BoundRule
        Rules that have all they need.
    not_checked : tuple of NotChecked
        The others.
    severity : int
        Precedence that the verdict has at least, since a required rule is not asked.
    determinate : bool
        No required rule that sets floors is left out.
    calls : tuple of tuple
        Key and check of each rule that is asked.
    """

    asked: tuple[BoundRule, ...]
    not_checked: tuple[NotChecked, ...]
    severity: int
    determinate: bool
    calls: tuple[tuple[tuple[str, str], Check], ...]


class Plans:
    """The plans for some rules of one plugin."""

    def __init__(self, rules: Iterable[BoundRule]) -> None:
        self._rules = tuple(rules)
        needs = [need for rule in self._rules for need in rule.needs]
        behind = [field for need in needs if is_fact(need) for field in fields_behind(need, "")]
        subjects = [rule.rule.concerns for rule in self._rules if rule.rule.concerns is not None]
        self._needs = tuple(dict.fromkeys((*needs, *behind, *subjects)))
        self._given = compile_needs(self._needs)
        self._plans: dict[tuple[bool, ...], Plan] = {}

    def plan_for(self, case: Case) -> Plan:
        """Give the plan for the fields that a case has."""
        given = self._given(case)
        plan = self._plans.get(given)
        if plan is None:
            if len(self._plans) >= _MOST:
                self._plans.clear()
            plan = self._plans[given] = self._make(given)
        return plan

    def _make(self, given: tuple[bool, ...]) -> Plan:
        there = {need for need, is_given in zip(self._needs, given, strict=True) if is_given}
        asked = tuple(rule for rule in self._rules if there.issuperset(rule.needs))
        left = [rule for rule in self._rules if not there.issuperset(rule.needs)]
        return Plan(
            asked=asked,
            not_checked=tuple(
                rule.not_checked(there)
                for rule in left
                if rule.required or rule.rule.concerns is None or rule.rule.concerns in there
            ),
            severity=PRECEDENCE["indeterminate"] if any(rule.required for rule in left) else 0,
            determinate=not any(rule.required and rule.sets_floors for rule in left),
            calls=tuple((rule.key, rule.rule.check) for rule in asked),
        )
