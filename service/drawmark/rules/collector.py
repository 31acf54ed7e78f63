"""Collects what rules say: of one case, or of columns of cases."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

import msgspec
import numpy as np

from drawmark.fitting.columns import Real
from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Fitting
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.guard import FailedError
from drawmark.rules.model import PRECEDENCE, Ceiling, Finding, Floor
from drawmark.rules.outcome import Attributed, NotChecked, Unevaluated, sentence
from drawmark.rules.rule_call import Answer, call_rules, case_of
from drawmark.rules.rule_selection import Selection
from drawmark.rules.rule_set import Group, RuleSet

INDETERMINATE: Final = PRECEDENCE["indeterminate"]


class Collector(msgspec.Struct, eq=False, gc=False):
    """Collects what rules say; `length_findings` are added once all floors are known.

    `severity` counts rules that are left out or failed, and no findings.
    """

    floors: list[Attributed[Floor]] = []
    ceilings: list[Attributed[Ceiling]] = []
    findings: list[Attributed[Finding]] = []
    length_findings: Iterable[Attributed[Finding]] = ()
    not_checked: list[NotChecked] = []
    unevaluated: list[Unevaluated] = []
    severity: int = 0
    determinate: bool = True

    @staticmethod
    def of(ruleset: RuleSet) -> Collector:
        """Begin with what every answer of a rule set repeats."""
        return Collector(
            unevaluated=list(ruleset.unevaluated),
            severity=INDETERMINATE if ruleset.missing else 0,
            determinate=not ruleset.missing,
        )

    def ask(
        self,
        groups: Iterable[Group],
        fitting: Fitting,
        facts: Facts,
        local: Mapping[str, object],
        *,
        lengths_only: bool = False,
        again: bool = False,
    ) -> None:
        """Ask the rules of some plugins about one fitting."""
        for group in groups:
            case = case_of(fitting, facts, group, local)
            selection = (group.length_selector if lengths_only else group.selector).select(case)
            self.leave_out(selection)
            if rules := selection.rules:
                self.add(rules, call_rules(rules, case, group.trusted, again=again))

    def leave_out(self, selection: Selection) -> None:
        """Note the rules that are not asked."""
        if selection.not_checked:
            self.not_checked += selection.not_checked
        if selection.unevaluated:
            self.unevaluated += selection.unevaluated
            self.severity = INDETERMINATE
            self.determinate = self.determinate and selection.determinate

    def add(self, rules: Iterable[BoundRule], answers: Iterable[Answer]) -> None:
        """Add what rules said, as far as it may hold somewhere."""
        for bound, answer in zip(rules, answers, strict=True):
            if not answer:
                continue
            plugin, rule = bound.key
            if isinstance(answer, FailedError):
                self.unevaluated.append(Unevaluated(plugin, rule, sentence(f"The rule {answer}")))
                self.severity = max(self.severity, INDETERMINATE)
                self.determinate = self.determinate and not bound.sets_floors
                continue
            for said in answer:
                when = said.when
                if when is False or not (when is True or isinstance(when, np.ndarray) or when):
                    continue
                if isinstance(said, Finding):
                    self.findings.append(Attributed(plugin, rule, said))
                elif isinstance(said, Floor):
                    self.floors.append(Attributed(plugin, rule, said))
                else:
                    self.ceilings.append(Attributed(plugin, rule, said))

    @property
    def least_length(self) -> Real:
        """The largest floor of a single case, 0 where there is none [m]."""
        least: Real = 0.0
        for floor in self.floors:
            if floor.said.length > least:
                least = floor.said.length
        return least

    @property
    def worst(self) -> int:
        """Precedence of the verdict of a single case."""
        worst = self.severity
        for finding in (*self.findings, *self.length_findings):
            severity = PRECEDENCE[finding.said.severity]
            if severity > worst:
                worst = severity
        return worst
