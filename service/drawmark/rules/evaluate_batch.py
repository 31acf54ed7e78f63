"""Asks the rules of a rule set about many fittings at once.

A rule with `check_many` speaks of all of them in one call. One without it, or whose columns
cannot be used, is asked about each item on its own, and what it says is kept apart.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import msgspec
import numpy as np

from drawmark.fitting.columns import Mask
from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.model import Fitting, FittingError
from drawmark.rules.batch_outcome import Apart, OutcomeColumns, mask
from drawmark.rules.binding import BoundRule, RuleSet
from drawmark.rules.column_trees import copied, picker, shield
from drawmark.rules.guard import FailedError, guard
from drawmark.rules.inspection import UnsoundError
from drawmark.rules.length_findings import length_findings
from drawmark.rules.model import PRECEDENCE, Case, Ceiling, Finding, Floor, Said
from drawmark.rules.outcome import Placed, Unevaluated
from drawmark.rules.rule_call import NOTHING, ask, case_of, is_finite
from drawmark.rules.validation import sound

_INDETERMINATE = PRECEDENCE["indeterminate"]


class _Told:
    """What was said so far: of all items, and of single ones."""

    def __init__(self) -> None:
        self.floors: list[Placed[Floor]] = []
        self.ceilings: list[Placed[Ceiling]] = []
        self.findings: list[Placed[Finding]] = []
        self.unevaluated: list[Unevaluated] = []

    def add(self, bound: BoundRule, said: Iterable[Said]) -> None:
        plugin, rule = bound.key
        for one in said:
            if one.when is False:
                continue
            if isinstance(one, Finding):
                self.findings.append(Placed(plugin, rule, one))
            elif isinstance(one, Floor):
                self.floors.append(Placed(plugin, rule, one))
            else:
                self.ceilings.append(Placed(plugin, rule, one))


def evaluate_many(
    fitting: Fitting,
    ruleset: RuleSet,
    size: int,
    local: Mapping[str, object] = NOTHING,
    lengths_only: bool = False,
    facts: Facts | None = None,
) -> OutcomeColumns:
    """Evaluate a column of fittings that are alike in which fields they have.

    Parameters
    ----------
    fitting : Fitting
        The requests in SI, with columns as leaves.
    ruleset : RuleSet
        Rules in force.
    size : int
        Number of items.
    local : mapping
        Plugins' names to instances of their inputs, with columns as leaves.
    lengths_only : bool
        Run only rules that may set floors or ceilings.
    facts : Facts or None
        What the core works out of the fittings, where that is known already.

    Returns
    -------
    OutcomeColumns
        The same for each item as `evaluate` gives.

    Raises
    ------
    FittingError
        If the fittings cannot be computed.
    """
    fitting = shield(fitting)
    facts = shield(facts_of(fitting) if facts is None else facts)
    # A rule may go round what guards its case: the core's verdict stands on a copy.
    standing = copied(facts)
    local = {plugin: shield(inputs) for plugin, inputs in local.items()}
    told, alone = _Told(), dict[int, _Told]()
    not_checked = list(ruleset.not_checked)
    told.unevaluated.extend(ruleset.unevaluated)
    determinate = np.full(size, not told.unevaluated)
    severities = np.full(size, 0 if not told.unevaluated else _INDETERMINATE, dtype=np.int8)
    for group in ruleset.groups:
        case = case_of(fitting, facts, group, local)
        cases: list[Case] = []
        plan = (group.length_plans if lengths_only else group.plans).plan_for(case)
        not_checked.extend(plan.not_checked)
        np.maximum(severities, plan.severity, out=severities)
        determinate &= plan.determinate
        for bound in plan.asked:
            try:
                said = _ask_of_all(bound, case, size, group.trusted)
            except FailedError as failed:
                told.unevaluated.append(Unevaluated(*bound.key, str(failed)))
                np.maximum(severities, _INDETERMINATE, out=severities)
                determinate &= not bound.sets_floors
                continue
            if said is not None:
                told.add(bound, said)
                continue
            cases = cases or list(map(picker(case), range(size)))
            for at, one_case in enumerate(cases):
                try:
                    one_said = ask(bound, one_case, group.trusted)
                except FailedError as failed:
                    item = alone.setdefault(at, _Told())
                    item.unevaluated.append(Unevaluated(*bound.key, str(failed)))
                    severities[at] = max(severities[at], _INDETERMINATE)
                    determinate[at] &= not bound.sets_floors
                else:
                    if one_said:
                        alone.setdefault(at, _Told()).add(bound, one_said)
    return _sum_up(
        told,
        alone,
        size=size,
        facts=standing,
        not_checked=tuple(not_checked),
        applied=ruleset.applied,
        severities=severities,
        determinate=determinate,
        order={bound.key: place for place, bound in enumerate(ruleset.rules)},
    )


def _ask_of_all(bound: BoundRule, case: Case, size: int, trusted: bool) -> list[Said] | None:
    """Ask one rule about all items; None where it must be asked about each."""
    check = bound.rule.check_many
    if check is None:
        return None
    if trusted:
        try:
            trusted_said = list(check(case))
        except FittingError:
            raise
        except Exception:
            return None
        return trusted_said if all(map(is_finite, trusted_said)) else None
    try:
        return sound(guard.call(bound.key, check, case), bound.rule.gives, size)
    except UnsoundError:
        return None
    except FailedError as failed:
        if failed.timed_out:
            raise
        return None


def _sum_up(told: _Told, alone: dict[int, _Told], **given: Any) -> OutcomeColumns:
    size, severities = given["size"], given["severities"]
    floors = tuple(_bounded(placed, -np.inf) for placed in told.floors)
    ceilings = tuple(_bounded(placed, np.inf) for placed in told.ceilings)
    minimum = np.zeros(size)
    for floor in floors:
        np.maximum(minimum, floor.said.length, out=minimum)
    length = list(length_findings(given["facts"], floors, ceilings))
    with_lengths = [at for at, item in alone.items() if item.floors or item.ceilings]
    if with_lengths:
        # Such items are judged by all their floors together, as they would be alone.
        others = np.ones(size, dtype=np.bool_)
        others[with_lengths] = False
        length = [_only(placed, others) for placed in length]
    for placed in (*told.findings, *length):
        severity = PRECEDENCE[placed.said.severity]
        if severity:
            np.maximum(severities, severity, out=severities, where=mask(placed.said.when, size))
    apart = _settle(alone, with_lengths, floors, ceilings, given["facts"], given["order"])
    for at, item in apart.items():
        for finding in (*item.findings, *item.length_findings):
            severities[at] = max(severities[at], PRECEDENCE[finding.said.severity])
        for floor in item.floors:
            minimum[at] = max(minimum[at], floor.said.length)
    return OutcomeColumns(
        floors=floors,
        ceilings=ceilings,
        findings=tuple(told.findings),
        length_findings=tuple(length),
        unevaluated=tuple(told.unevaluated),
        minimum_usable=minimum,
        apart=apart,
        **given,
    )


def _settle(
    alone: Mapping[int, _Told],
    with_lengths: Iterable[int],
    floors: tuple[Placed[Floor], ...],
    ceilings: tuple[Placed[Ceiling], ...],
    facts: Facts,
    order: Mapping[tuple[str, str], int],
) -> dict[int, Apart]:
    if not alone:
        return {}

    def merge(pickers: Iterable[Callable[[int], Any]], own: Iterable[Any], at: int) -> Any:
        picked = (pick(at) for pick in pickers)
        holding = [placed for placed in (*picked, *own) if placed.said.when]
        return tuple(sorted(holding, key=lambda placed: order[placed.plugin, placed.rule]))

    pick_floors, pick_ceilings = tuple(map(picker, floors)), tuple(map(picker, ceilings))
    pick_facts = picker(facts)
    length = {
        at: tuple(
            length_findings(
                pick_facts(at),
                merge(pick_floors, alone[at].floors, at),
                merge(pick_ceilings, alone[at].ceilings, at),
            )
        )
        for at in with_lengths
    }
    return {
        at: Apart(
            floors=tuple(item.floors),
            ceilings=tuple(item.ceilings),
            findings=tuple(item.findings),
            length_findings=length.get(at, ()),
            unevaluated=tuple(item.unevaluated),
        )
        for at, item in sorted(alone.items())
    }


def _bounded(placed: Any, nothing: float) -> Any:
    """Move a floor or ceiling out of reach wherever its condition is false."""
    said = placed.said
    if not isinstance(said.when, np.ndarray):
        return placed
    length = np.where(said.when, said.length, nothing)
    return Placed(placed.plugin, placed.rule, msgspec.structs.replace(said, length=length))


def _only(placed: Placed[Finding], items: Mask) -> Placed[Finding]:
    said = msgspec.structs.replace(placed.said, when=np.logical_and(placed.said.when, items))
    return Placed(placed.plugin, placed.rule, said)
