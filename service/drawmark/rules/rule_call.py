"""Asks one rule about one case: the core's directly, a plugin's under watch and checked."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any, Final

import numpy as np

from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting, FittingError
from drawmark.rules.binding import BoundRule, Group
from drawmark.rules.guard import FailedError, guard
from drawmark.rules.inspection import UnsoundError
from drawmark.rules.model import Case, Floor, Said
from drawmark.rules.rule_selection import Plan
from drawmark.rules.validation import sound


def _with_nothing(cls: type) -> Any:
    return cls(**{field.name: None for field in fields(cls)})


NO_ARCHER: Final[Archer] = _with_nothing(Archer)
NO_BOW: Final[Bow] = _with_nothing(Bow)
NO_ARROW: Final[Arrow] = _with_nothing(Arrow)
NOTHING: Final[Mapping[str, object]] = {}


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
        inputs=local.get(group.plugin, group.inputs) if local else group.inputs,
    )


def ask(bound: BoundRule, case: Case, trusted: bool) -> Sequence[Said]:
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
    sequence of Said
        What it says.

    Raises
    ------
    FailedError
        If it has no answer that can be used.
    FittingError
        If a rule of the core finds the fitting contradictory.
    """
    if trusted:
        answer = _ask_core(bound, case)
        if isinstance(answer, FailedError):
            raise answer
        return answer
    said = guard.call(bound.key, bound.rule.check, case)
    if not said:
        return ()
    try:
        return sound(said, bound.rule.gives)
    except UnsoundError as error:
        guard.tell(bound.key, None, "unsound")
        raise FailedError(str(error)) from error


def ask_each(plan: Plan, case: Case, trusted: bool) -> list[Sequence[Said] | FailedError]:
    """Ask the rules of a plan about one case; see `ask`.

    Parameters
    ----------
    plan : Plan
        Rules of one plugin that have all they need.
    case : Case
        The case.
    trusted : bool
        They are the core's.

    Returns
    -------
    list
        What each says, or why it has no answer that can be used.

    Raises
    ------
    FittingError
        If a rule of the core finds the fitting contradictory.
    """
    if trusted:
        return [_ask_core(bound, case) for bound in plan.asked]
    answers: list[Any] = guard.call_each(plan.calls, case)
    for at, said in enumerate(answers):
        if type(said) is list and said:
            bound = plan.asked[at]
            try:
                answers[at] = sound(said, bound.rule.gives)
            except UnsoundError as error:
                guard.tell(bound.key, None, "unsound")
                answers[at] = FailedError(str(error))
    return answers


def _ask_core(bound: BoundRule, case: Case) -> Sequence[Said] | FailedError:
    try:
        said = tuple(bound.rule.check(case))
    except FittingError:
        raise
    except Exception as error:
        return FailedError(f"raised {type(error).__name__}: {error}")
    if bound.sets_floors and not all(map(is_finite, said)):
        return FailedError("gave a length that is not finite")
    return said


def is_finite(said: Said) -> bool:
    """Tell whether a floor has a length that can be compared; anything else has."""
    if isinstance(said, Floor) and isinstance(said.length, float):
        return math.isfinite(said.length)
    return not isinstance(said, Floor) or bool(np.all(np.isfinite(said.length)))
