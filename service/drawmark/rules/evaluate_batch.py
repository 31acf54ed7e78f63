"""Asks the rules of a rule set about many fittings at once.

A rule with `check_many` speaks of all of them in one call, and of a few of a request once more by
`check`. One without it, or whose columns cannot be used, is asked about each item on its own, and
what it says is kept apart.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

import numpy as np
from msgspec.structs import replace

from drawmark.deadline import deadline
from drawmark.fitting.columns import Mask
from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.model import Fitting
from drawmark.rules.batch_outcome import OutcomeColumns, mask, merge
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.collector import Collector
from drawmark.rules.column_trees import copied, picker, shield
from drawmark.rules.guard import FailedError
from drawmark.rules.length_findings import length_findings
from drawmark.rules.mixed_fields import part_by_looks, watch
from drawmark.rules.model import PRECEDENCE, Case, Finding
from drawmark.rules.outcome import Attributed
from drawmark.rules.rule_call import NOTHING, Answer, call_rules, case_of
from drawmark.rules.rule_set import RuleSet
from drawmark.rules.spot_check import CONTRADICTION, FEWEST_ITEMS, ITEMS_FOR_EACH, SpotCheck
from drawmark.rules.watch import Key


def evaluate_many(
    fitting: Fitting,
    ruleset: RuleSet,
    size: int,
    local: Mapping[str, object] = NOTHING,
    lengths_only: bool = False,
    facts: Facts | None = None,
    again: bool = False,
    items_for_each: int = ITEMS_FOR_EACH,
) -> OutcomeColumns:
    """Evaluate a column of fittings with the same fields; `again`: rules were asked before.

    Of so many items that a request asks a plugin's rule in columns, one is also asked alone, and
    three of the first column.
    """
    deadline.check()
    fitting = shield(fitting)
    watched = watch(fitting)
    facts = shield(facts_of(fitting) if facts is None else facts)
    # A rule may go round what guards its case: the core's verdict stands on a copy.
    standing = replace(copied(facts))
    local = {plugin: shield(inputs) for plugin, inputs in local.items()}
    spot_check: SpotCheck | None = None
    common, own = Collector.of(ruleset), defaultdict[int, Collector](Collector)
    asked = []
    for group in ruleset.groups:
        case = case_of(fitting, facts, group, local)
        mixed = group.is_watched and watched is not fitting
        seen = case_of(watched, facts, group, local) if mixed else case
        selection = (group.length_selector if lengths_only else group.selector).select(seen)
        answers = [
            (bound, _ask_of_all(bound, seen, size, group.trusted, again))
            for bound in selection.rules
        ]
        asked.append((group, case, selection, answers))
    # Before anybody is asked item by item: parted, all would be asked again.
    part_by_looks(watched)
    for group, case, selection, answers in asked:
        common.leave_out(selection)
        said = [(bound, answer) for bound, answer in answers if isinstance(answer, list)]
        contradictions = set[Key]()
        if said and not group.trusted:
            fewest = 1 if again else FEWEST_ITEMS
            spot_check = spot_check or SpotCheck(
                fitting, facts, local, size, items_for_each, fewest
            )
            contradictions = spot_check.contradictions(group, said)
        singly = tuple(bound for bound, answer in answers if answer is None)
        for bound, answer in answers:
            if answer is not None:
                contradicted = bound.key in contradictions
                common.add((bound,), (FailedError(CONTRADICTION) if contradicted else answer,))
        if not singly:
            continue
        for at, one_case in enumerate(map(picker(case), range(size))):
            deadline.check()
            told = call_rules(singly, one_case, group.trusted, again=again)
            if any(told):
                own[at].add(singly, told)
    return _sum_up(common, own, size, standing, ruleset)


def _ask_of_all(
    bound: BoundRule, case: Case, size: int, trusted: bool, again: bool
) -> Answer | None:
    """Ask one rule about all items; None where it must be asked about each."""
    if bound.rule.check_many is None:
        return None
    (answer,) = call_rules((bound,), case, trusted, size, again)
    return None if isinstance(answer, FailedError) and not answer.refused else answer


def _sum_up(
    common: Collector,
    own: Mapping[int, Collector],
    size: int,
    facts: Facts,
    ruleset: RuleSet,
) -> OutcomeColumns:
    common.floors = [_bounded(floor, -np.inf) for floor in common.floors]
    common.ceilings = [_bounded(ceiling, np.inf) for ceiling in common.ceilings]
    common.unevaluated = list(ruleset.in_order(common.unevaluated))
    order = ruleset.order
    own = {at: own[at] for at in sorted(own)}
    _add_length_findings(common, own, size, facts, order)
    minimum = np.zeros(size)
    for floor in common.floors:
        np.maximum(minimum, floor.said.length, out=minimum)
    severities = np.full(size, common.severity, dtype=np.int8)
    for finding in (*common.findings, *common.length_findings):
        severity = PRECEDENCE[finding.said.severity]
        if severity:
            np.maximum(severities, severity, out=severities, where=mask(finding.said.when, size))
    determinate = np.full(size, common.determinate)
    for at, said in own.items():
        minimum[at] = max(minimum[at], said.least_length)
        severities[at] = max(severities[at], said.worst)
        determinate[at] &= said.determinate
    return OutcomeColumns(
        size=size,
        facts=facts,
        common=common,
        own=own,
        applied=ruleset.applied,
        minimum_usable=minimum,
        severities=severities,
        determinate=determinate,
        order=order,
    )


def _add_length_findings(
    common: Collector,
    own: Mapping[int, Collector],
    size: int,
    facts: Facts,
    order: Mapping[tuple[str, str], int],
) -> None:
    common.length_findings = length_findings(facts, common.floors, common.ceilings)
    with_lengths = [at for at, said in own.items() if said.floors or said.ceilings]
    if not with_lengths:
        return
    # Such items are judged by all their floors together, as they would be alone.
    others = np.ones(size, dtype=np.bool_)
    others[with_lengths] = False
    common.length_findings = [_only(finding, others) for finding in common.length_findings]
    floors, ceilings = map(picker, common.floors), map(picker, common.ceilings)
    pick_floors, pick_ceilings, pick_facts = tuple(floors), tuple(ceilings), picker(facts)
    for at in with_lengths:
        own[at].length_findings = length_findings(
            pick_facts(at),
            merge(pick_floors, own[at].floors, at, order),
            merge(pick_ceilings, own[at].ceilings, at, order),
        )


def _bounded(placed: Any, nothing: float) -> Any:
    """Move a floor or ceiling out of reach wherever its condition is false."""
    said = placed.said
    if not isinstance(said.when, np.ndarray):
        return placed
    return replace(placed, said=replace(said, length=np.where(said.when, said.length, nothing)))


def _only(finding: Attributed[Finding], items: Mask) -> Attributed[Finding]:
    when = np.logical_and(finding.said.when, items)
    return replace(finding, said=replace(finding.said, when=when))
