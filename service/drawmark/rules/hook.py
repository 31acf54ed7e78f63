"""The one hook of a plugin, and the checks its rules must pass."""

from __future__ import annotations

import dataclasses
import inspect
import re
from collections.abc import Callable, Iterable
from typing import Any, Final

import pluggy

from drawmark.fitting import fields
from drawmark.rules.model import ANYTHING, Rule
from drawmark.rules.needs import explain_need
from drawmark.rules.validation import is_text

PROJECT: Final = "drawmark"
MOST_RULES: Final = 50
KEBAB: Final = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_LONGEST_NAME: Final = 60

hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


class Hooks:
    """What a plugin can implement."""

    @hookspec
    def drawmark_rules(self) -> Iterable[Rule]:
        """Give the rules of the plugin; called once, at the start of the service."""
        return ()


class RuleError(ValueError):
    """Raised if the rules of a plugin cannot be accepted; names every fault."""


def is_name(name: object) -> bool:
    """Tell whether a name is kebab-case and short enough."""
    return (
        isinstance(name, str) and len(name) <= _LONGEST_NAME and KEBAB.fullmatch(name) is not None
    )


def examine(rules: Iterable[object]) -> tuple[Rule, ...]:
    """Check the rules of one plugin."""
    found = tuple(rules)
    if not 1 <= len(found) <= MOST_RULES:
        raise RuleError(f"a plugin gives 1 to {MOST_RULES} rules, not {len(found)}")
    faults: list[str] = []
    good: list[Rule] = []
    for place, rule in enumerate(found):
        if not isinstance(rule, Rule):
            faults.append(f"rule {place}: {type(rule).__name__} is not a Rule")
            continue
        name = rule.id if is_name(rule.id) else str(place)
        faults.extend(f"rule {name}: {fault}" for fault in _faults_of(rule))
        good.append(rule)
    ids = [rule.id for rule in good]
    twice = sorted({name for name in ids if ids.count(name) > 1})
    faults.extend(f"rule {name}: two rules have this id" for name in twice)
    for role in ("settings", "inputs"):
        if len({cls for rule in good if (cls := getattr(rule, role)) is not None}) > 1:
            faults.append(f"{role}: all rules of a plugin share one dataclass")
    if faults:
        raise RuleError("; ".join(faults))
    return tuple(good)


def _faults_of(rule: Rule) -> Iterable[str]:
    if not is_name(rule.id):
        yield f"id {rule.id!r} is not kebab-case of at most {_LONGEST_NAME} characters"
    if not is_text(rule.title) or not rule.title.strip():
        yield "title is not text, or is empty"
    if rule.source is not None and not is_text(rule.source):
        yield "source is neither text nor None"
    if type(rule.required) is not bool:
        yield "required is neither True nor False"
    if not (isinstance(rule.gives, frozenset) and rule.gives and rule.gives <= ANYTHING):
        yield f"gives is not a frozenset of {', '.join(sorted(ANYTHING))}"
    for name in ("check", "check_many", "applies"):
        function = getattr(rule, name)
        if function is not None or name == "check":
            yield from _faults_of_call(name, function)
    unsound = [
        fault
        for role in ("settings", "inputs")
        if getattr(rule, role) is not None
        for fault in _faults_of_dataclass(role, getattr(rule, role))
    ]
    yield from unsound
    if not isinstance(rule.needs, tuple) or not all(isinstance(need, str) for need in rule.needs):
        yield "needs is not a tuple of fields"
        return
    if rule.concerns is not None and not isinstance(rule.concerns, str):
        yield "concerns is not text"
        return
    if unsound:
        return
    for need in rule.needs:
        if (fault := explain_need(need, rule.inputs)) is not None:
            yield f"needs: {fault}"
    if rule.concerns is not None:
        fault = explain_need(rule.concerns, rule.inputs, words=True)
        if fault is not None:
            yield f"concerns: {fault}"


def _faults_of_call(name: str, function: Callable[..., Any]) -> Iterable[str]:
    if not callable(function):
        yield f"{name} cannot be called"
        return
    if inspect.iscoroutinefunction(function) or inspect.isasyncgenfunction(function):
        yield f"{name} is asynchronous"
        return
    try:
        inspect.signature(function).bind(None)
    except (TypeError, ValueError):
        yield f"{name} does not take exactly one argument"


def _faults_of_dataclass(role: str, cls: Any) -> Iterable[str]:
    if not (isinstance(cls, type) and dataclasses.is_dataclass(cls)):
        yield f"{role} is not a dataclass"
        return
    parameters = getattr(cls, "__dataclass_params__", None)
    if parameters is None or not parameters.frozen:
        yield f"{role} is not frozen"
    for field in dataclasses.fields(cls):
        try:
            spec = fields.spec_of(field)
        except KeyError:
            yield f"{role}.{field.name} is not declared with rules.length or another of its kind"
            continue
        if not isinstance(spec, fields.Plain) or spec.is_list:
            yield f"{role}.{field.name} is not a single plain value"
        elif field.default_factory is not dataclasses.MISSING:
            yield f"{role}.{field.name} has a default factory; give a plain default"
        elif (
            field.default is not dataclasses.MISSING
            and field.default is not None
            and (fault := spec.fault_in(field.default)) is not None
        ):
            yield f"{role}.{field.name}: its default {fault}"
    if not any(map(fields.is_required, dataclasses.fields(cls))):
        try:
            cls()
        except Exception as error:
            yield f"{role} cannot be made of its defaults: {error}"
