"""What may be wrong with a rule in one trial: each check says it in words, or says nothing."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from functools import cache
from typing import Any, Final, TypeAlias

import numpy as np

from drawmark.fitting.limits import shorter
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.column_trees import picker, shield, stack_alike
from drawmark.rules.evaluate import evaluate
from drawmark.rules.guard import FailedError
from drawmark.rules.model import CORE, PRECEDENCE, Case, Finding, Floor, Said
from drawmark.rules.registry import load
from drawmark.rules.rule_call import call_rules, case_of
from drawmark.rules.rule_set import RuleSet, bind
from drawmark.rules.spot_check import alike
from drawmark.rules.text_values import write_quantity
from drawmark.rules.trial import Trial
from drawmark.rules.validation import UnsoundError, validate

SLOW: Final = 0.1
"""What a rule may take in a test [s]; the service stops it at 0.25 s."""

Check: TypeAlias = Callable[[BoundRule, Trial], "str | None"]


def answer_of(bound: BoundRule, case: Case) -> list[Said] | FailedError:
    """Ask a rule as the service does."""
    (answer,) = call_rules((bound,), case, trusted=False)
    return answer if isinstance(answer, FailedError) else list(answer)


def unsound(bound: BoundRule, trial: Trial) -> str | None:
    """Say why an answer cannot be used."""
    answer = answer_of(bound, trial.case)
    return str(answer) if isinstance(answer, FailedError) else None


def impure(bound: BoundRule, trial: Trial) -> str | None:
    """Say whether a rule changes its case, or its mind."""
    case = trial.case
    before = repr(case)
    first = answer_of(bound, case)
    if repr(case) != before:
        return "changed its case"
    second = answer_of(bound, case)
    if isinstance(first, FailedError) or isinstance(second, FailedError):
        return None
    return None if alike(first, second) else "does not say the same twice"


def slow(bound: BoundRule, trial: Trial) -> str | None:
    """Say whether a rule takes long each of three times, in processor time."""
    case = trial.case
    for _ in range(3):
        started = time.thread_time()
        answer = answer_of(bound, case)
        taken = time.thread_time() - started
        if isinstance(answer, FailedError) and answer.timed_out:
            return str(answer)
        if taken < SLOW:
            return None
    return f"took {taken:.2f} s; {SLOW} s are allowed"


def disordered(bound: BoundRule, trial: Trial) -> str | None:
    """Say whether a floor falls, or a stop ends, as the draw grows."""
    here = answer_of(bound, trial.case)
    if isinstance(here, FailedError):
        return None
    floor, stops = _strictness(here)
    for growth, longer in trial.longer:
        answers = [answer_of(one, longer.case) for one in longer.asked if one.key == bound.key]
        if not answers or isinstance(answers[0], FailedError):
            continue
        then, still = _strictness(answers[0])
        beyond = f"with a draw {write_quantity(growth, 'mm')} longer"
        if shorter(then, floor):
            shown = f"from {write_quantity(floor, 'mm')} to {write_quantity(then, 'mm')}"
            return f"its floor falls {beyond}: {shown}"
        if stops and not still:
            return f"it stops the arrow, and not {beyond}"
    return None


def _strictness(answer: Iterable[Said]) -> tuple[float, bool]:
    floors = [float(one.length) for one in answer if isinstance(one, Floor)]
    stops = any(isinstance(one, Finding) and one.severity == "stop" for one in answer)
    return max(floors, default=0.0), stops


def differs_in_columns(bound: BoundRule, trial: Trial) -> str | None:
    """Say whether a rule says other things of columns than of single cases."""
    if bound.rule.check_many is None or (items := trial.alike) is None:
        return None
    case = _columns_of(items)
    before = _written(case)
    try:
        said = validate(list(bound.rule.check_many(case)), bound.rule.gives, len(items))
    except UnsoundError as error:
        return f"its check_many {error}"
    except Exception as error:
        return f"its check_many raised {type(error).__name__}: {error}"
    if _written(case) != before:
        return "its check_many changed its case"
    picks = [picker(one) for one in said]
    for at, item in enumerate(items):
        here = [one for take in picks if (one := take(at)).when]
        there = answer_of(bound, item.case)
        if not isinstance(there, FailedError) and not alike(here, there):
            return f"its check_many says {_words(here)}, its check says {_words(there)}"
    return None


def _written(columns: object) -> str:
    """Write columns with all their digits; by themselves they show eight, and take longer."""
    digits: Any = {"float_kind": float.hex}
    with np.printoptions(formatter=digits):
        return repr(columns)


def _columns_of(items: tuple[Trial, ...]) -> Case:
    trees = [(one.fitting, one.facts, one.local) for one in items]
    fitting, facts, local = stack_alike(trees)
    return shield(case_of(fitting, facts, items[0].ruleset.groups[0], local))


def disturbs(bound: BoundRule, trial: Trial) -> str | None:
    """Say whether what a rule said changes once another rule of the plugin speaks."""
    case = trial.case
    alone = answer_of(bound, case)
    together = call_rules(trial.asked, case, trusted=False)
    place = [one.key for one in trial.asked].index(bound.key)
    after = together[place]
    if isinstance(alone, FailedError) or isinstance(after, FailedError):
        return None
    if not alike(alone, list(after)):
        return "says something else beside the plugin's other rules"
    many = bound.rule.check_many
    if many is None or (items := trial.alike) is None:
        return None
    columns = _columns_of(items)
    try:
        said = list(many(columns))
        before = _written(said)
        for other in trial.asked:
            if other.rule.check_many is not None:
                list(other.rule.check_many(columns))
                if _written(said) != before:
                    return f"an array that it returned changes when rule {other.rule.id} speaks"
    except Exception:
        return None  # told as columns
    return None


def laxer(bound: BoundRule, trial: Trial) -> str | None:
    """Say whether a rule makes an answer of the core less strict."""
    alone = _core()
    both = RuleSet(name="both", title="The core and one rule", rules=(*alone.rules, bound))
    without = evaluate(trial.fitting, alone, facts=trial.facts)
    joined = evaluate(trial.fitting, both, trial.local, facts=trial.facts)
    if joined.minimum_usable < without.minimum_usable:
        return "the minimum is lower with it"
    if PRECEDENCE[joined.verdict] < PRECEDENCE[without.verdict]:
        return f"the verdict is {joined.verdict} with it and {without.verdict} without"
    if joined.determinate and not without.determinate:
        return "the answer is less in doubt with it"
    return None


@cache
def _core() -> RuleSet:
    core = load().find(CORE)
    rules = () if core is None or core.status != "active" else bind(core, None)
    return RuleSet(name="core", title="The core's rules", rules=rules)


def _words(said: Iterable[Said]) -> str:
    words = []
    for one in said:
        text = one.message if isinstance(one, Finding) else one.reason
        figure = "" if isinstance(one, Finding) else f" {write_quantity(float(one.length), 'mm')}"
        kind = one.severity if isinstance(one, Finding) else type(one).__name__.lower()
        words.append(f"{kind}{figure} ({text})")
    return ", ".join(words) or "nothing"
