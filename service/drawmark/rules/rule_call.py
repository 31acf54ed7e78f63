"""Calls rules: the core's directly, a plugin's under guard and with its answer checked."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import fields
from operator import attrgetter
from typing import Any, Final, TypeAlias

import numpy as np

from drawmark.fitting.facts import Facts
from drawmark.fitting.faults import FittingError
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.guard import FailedError, guard
from drawmark.rules.model import Case, Check, Floor, Said
from drawmark.rules.rule_set import Group
from drawmark.rules.validation import UnsoundError, validate

Answer: TypeAlias = Sequence[Said] | FailedError
"""What a rule says, or why it has no answer that can be used."""


def _with_nothing(cls: type) -> Any:
    return cls(**{field.name: None for field in fields(cls)})


NO_ARCHER: Final[Archer] = _with_nothing(Archer)
NO_BOW: Final[Bow] = _with_nothing(Bow)
NO_ARROW: Final[Arrow] = _with_nothing(Arrow)
_CALL: Final = attrgetter("call")
_COLUMN_CALL: Final = attrgetter("column_call")
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


def call_rules(
    rules: Sequence[BoundRule],
    case: Case,
    trusted: bool,
    size: int | None = None,
    again: bool = False,
) -> list[Answer]:
    """Call rules of one plugin; with a size they are asked about columns.

    The core's are trusted: neither guarded nor checked. `again` says that they were asked before
    for this request. FittingError if a rule of the core finds the fitting contradictory.
    """
    if trusted:
        if size is None:
            return [_call_core(bound, bound.rule.check, case) for bound in rules]
        return [_call_core(bound, bound.column_call[1], case) for bound in rules]
    calls = map(_CALL if size is None else _COLUMN_CALL, rules)
    answers: list[Any] = guard.call_each(calls, case, again, strikes=size is None)
    for at, said in enumerate(answers):
        if type(said) is list and said:
            try:
                answers[at] = validate(said, rules[at].rule.gives, size)
            except Exception as error:
                if size is None:
                    guard.notify(rules[at].key, None, "unsound")
                unreadable = f"returned what cannot be read: {type(error).__name__}"
                answers[at] = FailedError(
                    str(error) if isinstance(error, UnsoundError) else unreadable
                )
    return answers


def _call_core(bound: BoundRule, check: Check, case: Case) -> Answer:
    try:
        said = tuple(check(case))
    except FittingError:
        raise
    except Exception as error:
        return FailedError(f"raised {type(error).__name__}: {error}")
    if bound.sets_floors and not all(map(_is_finite, said)):
        return FailedError("gave a length that is not finite")
    return said


def _is_finite(said: Said) -> bool:
    if not isinstance(said, Floor):
        return True
    length = said.length
    return math.isfinite(length) if isinstance(length, float) else bool(np.isfinite(length).all())
