"""What local rules alone ask of an arrow's length, and what they have against it."""

from __future__ import annotations

from collections.abc import Mapping

from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Fitting
from drawmark.rules.asking import NOTHING, ask_each, case_of
from drawmark.rules.binding import RuleSet
from drawmark.rules.guard import FailedError, guard
from drawmark.rules.inspection import UnsoundError
from drawmark.rules.model import PRECEDENCE, Finding
from drawmark.rules.soundness import floors_in


def asks_local_floors(
    fitting: Fitting, facts: Facts, ruleset: RuleSet, local: Mapping[str, object] = NOTHING
) -> bool:
    """Tell whether any rule of a plugin that may set floors has the fields that it needs."""
    return any(
        group.floor_plans.plan_for(case_of(fitting, facts, group, local)).asked
        for group in ruleset.local_floors
    )


def largest_local_floor(
    fitting: Fitting, facts: Facts, ruleset: RuleSet, local: Mapping[str, object] = NOTHING
) -> tuple[float, bool]:
    """Ask the rules of plugins that may set floors, and nothing else.

    Parameters
    ----------
    fitting : Fitting
        The request in SI.
    facts : Facts
        What the core works out of it.
    ruleset : RuleSet
        Rules in force.
    local : mapping
        Plugins' names to instances of their inputs.

    Returns
    -------
    tuple
        The largest floor of the usable length, 0 where none was set [m]; whether every such rule
        was evaluated.
    """
    largest, determinate = 0.0, True
    for group in ruleset.local_floors:
        case = case_of(fitting, facts, group, local)
        plan = group.floor_plans.plan_for(case)
        determinate = determinate and plan.determinate
        for bound, said in zip(plan.asked, guard.call_each(plan.calls, case), strict=True):
            if isinstance(said, FailedError):
                determinate = False
                continue
            try:
                largest = max(largest, *floors_in(said, bound.rule.gives), 0.0)
            except UnsoundError:
                guard.tell(bound.key, None, "unsound")
                determinate = False
    return largest, determinate


def worst_local_severity(
    fitting: Fitting, facts: Facts, ruleset: RuleSet, local: Mapping[str, object] = NOTHING
) -> int:
    """Ask the rules of plugins, and nothing else, what they find.

    Parameters
    ----------
    fitting : Fitting
        The request in SI.
    facts : Facts
        What the core works out of it.
    ruleset : RuleSet
        Rules in force.
    local : mapping
        Plugins' names to instances of their inputs.

    Returns
    -------
    int
        Precedence of the worst finding, in doubt where a rule has no answer; floors are no finding.
    """
    worst = 0
    for group in ruleset.groups:
        if group.trusted:
            continue
        case = case_of(fitting, facts, group, local)
        plan = group.plans.plan_for(case)
        worst = max(worst, plan.severity)
        for answer in ask_each(plan, case, trusted=False):
            if isinstance(answer, FailedError):
                worst = max(worst, PRECEDENCE["indeterminate"])
                continue
            for said in answer:
                if isinstance(said, Finding) and said.when:
                    worst = max(worst, PRECEDENCE[said.severity])
    return worst
