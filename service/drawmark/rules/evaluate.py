"""Asks the rules of a rule set about a fitting, and takes the strictest of what they say."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from msgspec.structs import replace

from drawmark.fitting.columns import Real
from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.model import Fitting
from drawmark.rules.binding import RuleSet
from drawmark.rules.evaluate_batch import evaluate_many
from drawmark.rules.guard import FailedError
from drawmark.rules.length_findings import length_findings
from drawmark.rules.model import PRECEDENCE, VERDICTS, Ceiling, Finding, Floor
from drawmark.rules.outcome import NotChecked, Outcome, Placed, Unevaluated
from drawmark.rules.rule_call import NOTHING, ask_each, case_of

__all__ = ["evaluate", "evaluate_many"]

_INDETERMINATE: Final = PRECEDENCE["indeterminate"]


def evaluate(
    fitting: Fitting,
    ruleset: RuleSet,
    local: Mapping[str, object] = NOTHING,
    lengths_only: bool = False,
    facts: Facts | None = None,
) -> Outcome:
    """Evaluate a fitting.

    The core's rules speak first, then those of the plugins; of all that they say only the
    larger floor and the worse verdict are taken.

    Parameters
    ----------
    fitting : Fitting
        The request in SI.
    ruleset : RuleSet
        Rules in force.
    local : mapping
        Plugins' names to instances of their inputs.
    lengths_only : bool
        Run only rules that may set floors or ceilings.
    facts : Facts or None
        What the core works out of the fitting, where that is known already.

    Returns
    -------
    Outcome
        All that was said, and the verdict.

    Raises
    ------
    FittingError
        If the fitting cannot be computed.
    """
    if facts is None:
        facts = facts_of(fitting)
    # A rule may go round what guards its case: the core's verdict stands on a copy.
    standing = replace(facts)
    floors: list[Placed[Floor]] = []
    ceilings: list[Placed[Ceiling]] = []
    findings: list[Placed[Finding]] = []
    not_checked: list[NotChecked] = list(ruleset.not_checked)
    unevaluated: list[Unevaluated] = list(ruleset.unevaluated)
    determinate = not unevaluated
    worst = 0 if determinate else _INDETERMINATE
    minimum: Real = 0.0
    for group in ruleset.groups:
        case = case_of(fitting, facts, group, local)
        plugin, trusted = group.plugin, group.trusted
        plan = (group.length_plans if lengths_only else group.plans).plan_for(case)
        not_checked.extend(plan.not_checked)
        worst = max(worst, plan.severity)
        determinate = determinate and plan.determinate
        for bound, answer in zip(plan.asked, ask_each(plan, case, trusted), strict=True):
            rule = bound.rule.id
            if isinstance(answer, FailedError):
                unevaluated.append(Unevaluated(plugin, rule, str(answer)))
                worst = max(worst, _INDETERMINATE)
                determinate = determinate and not bound.sets_floors
                continue
            for said in answer:
                if not said.when:
                    continue
                if isinstance(said, Finding):
                    findings.append(Placed(plugin, rule, said))
                elif isinstance(said, Floor):
                    floors.append(Placed(plugin, rule, said))
                else:
                    ceilings.append(Placed(plugin, rule, said))
    findings.extend(length_findings(standing, tuple(floors), tuple(ceilings)))
    for floor in floors:
        if floor.said.length > minimum:
            minimum = floor.said.length
    for finding in findings:
        severity = PRECEDENCE[finding.said.severity]
        if severity > worst:
            worst = severity
    return Outcome(
        facts=standing,
        floors=tuple(floors),
        ceilings=tuple(ceilings),
        findings=tuple(findings),
        not_checked=tuple(not_checked),
        unevaluated=tuple(unevaluated),
        applied=ruleset.applied,
        minimum_usable=minimum,
        verdict=VERDICTS[worst],
        determinate=determinate,
    )
