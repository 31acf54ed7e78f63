"""Asks the rules of a rule set about a fitting, and takes the strictest of what they say."""

from __future__ import annotations

import importlib
import math
from collections.abc import Iterable, Mapping
from dataclasses import fields
from typing import Any, Final

from drawmark.fitting.columns import Real
from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Archer, Arrow, Bow, Fault, Fitting, FittingError
from drawmark.rules.binding import BoundRule, Group, RuleSet
from drawmark.rules.guard import FailedError, guard
from drawmark.rules.model import PRECEDENCE, Case, Ceiling, Finding, Floor, Said
from drawmark.rules.outcome import VERDICTS, NotChecked, Outcome, Placed, Unevaluated
from drawmark.rules.soundness import UnsoundError, sound


def _with_nothing(cls: type) -> Any:
    return cls(**{field.name: None for field in fields(cls)})


NO_ARCHER: Final[Archer] = _with_nothing(Archer)
NO_BOW: Final[Bow] = _with_nothing(Bow)
NO_ARROW: Final[Arrow] = _with_nothing(Arrow)
NOTHING: Final[Mapping[str, object]] = {}
_INDETERMINATE: Final = PRECEDENCE["indeterminate"]


def _borrow(module: str, name: str, instead: Any) -> Any:
    try:
        return getattr(importlib.import_module(module), name, instead)
    except ModuleNotFoundError:
        return instead


def _facts_must_be_given(fitting: Fitting) -> Facts:
    raise FittingError(Fault(path=(), detail="its facts were not worked out"))


facts_of = _borrow("drawmark.fitting.facts", "facts_of", _facts_must_be_given)
length_findings = _borrow("drawmark.rules.lengths", "length_findings", lambda *parts: ())


def case_of(
    fitting: Fitting, facts: Facts, group: Group, local: Mapping[str, object] = NOTHING
) -> Case:
    """Lay a fitting before the rules of one plugin."""
    return Case(
        archer=fitting.archer or NO_ARCHER,
        bow=fitting.bow or NO_BOW,
        arrow=fitting.arrow or NO_ARROW,
        facts=facts,
        settings=group.settings,
        inputs=group.inputs_of(local),
    )


def ask(bound: BoundRule, case: Case, trusted: bool) -> Iterable[Said]:
    """Ask one rule about one case.

    Parameters
    ----------
    bound : BoundRule
        The rule.
    case : Case
        The case.
    trusted : bool
        The rule is the core's: it is neither watched nor checked.

    Returns
    -------
    iterable of Said
        What it says.

    Raises
    ------
    FailedError
        If it has no answer that can be used.
    FittingError
        If a rule of the core finds the fitting contradictory.
    """
    if trusted:
        try:
            return tuple(bound.rule.check(case))
        except FittingError:
            raise
        except Exception as error:
            raise FailedError(f"raised {type(error).__name__}: {error}") from error
    said = guard.call(bound.key, bound.rule.check, case)
    try:
        return sound(said, bound.rule.gives)
    except UnsoundError as error:
        raise FailedError(str(error)) from error


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
        for bound in group.length_rules if lengths_only else group.rules:
            missing = bound.lacks(case)
            if missing is not None:
                not_checked.append(missing)
                if bound.required:
                    worst = max(worst, _INDETERMINATE)
                    determinate = determinate and not bound.sets_floors
                continue
            try:
                for said in ask(bound, case, trusted):
                    if not said.when:
                        continue
                    if isinstance(said, Finding):
                        findings.append(Placed(plugin, bound.rule.id, said))
                    elif isinstance(said, Floor):
                        if not math.isfinite(said.length):
                            raise FailedError("gave a length that is not finite")
                        floors.append(Placed(plugin, bound.rule.id, said))
                    else:
                        ceilings.append(Placed(plugin, bound.rule.id, said))
            except FailedError as failed:
                unevaluated.append(Unevaluated(plugin, bound.rule.id, str(failed)))
                worst = max(worst, _INDETERMINATE)
                determinate = determinate and not bound.sets_floors
    findings.extend(length_findings(facts, tuple(floors), tuple(ceilings)))
    for floor in floors:
        if floor.said.length > minimum:
            minimum = floor.said.length
    for finding in findings:
        severity = PRECEDENCE[finding.said.severity]
        if severity > worst:
            worst = severity
    return Outcome(
        facts=facts,
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
