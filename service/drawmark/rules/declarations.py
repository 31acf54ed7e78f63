"""What a plugin declares, checked where it is loaded: every fault is one plain line."""

from __future__ import annotations

import dataclasses
import inspect
import math
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, Final

from drawmark.fitting import fields
from drawmark.fitting.field_kinds import Choice, Figure, Flag, Number, Plain, Quantity, Text, Whole
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules.model import ANYTHING, Rule
from drawmark.rules.needs import explain_need
from drawmark.rules.validation import LONGEST_TEXT, is_text

MOST_RULES: Final = 50
KEBAB: Final = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_LONGEST_NAME: Final = 60
_FIELD: Final = re.compile(r"[a-z][a-z0-9_]{0,59}")
_LARGEST_WHOLE: Final = 2**53
"""Beyond it, readers of JSON that keep numbers as floats change a whole number."""
_KINDS: Final = (Quantity, Number, Whole, Choice, Flag, Text)
_PLAIN: Final = (type(None), bool, int, float, str)


def is_name(name: object) -> bool:
    """Tell whether a name is kebab-case and short enough."""
    return (
        isinstance(name, str) and len(name) <= _LONGEST_NAME and KEBAB.fullmatch(name) is not None
    )


def declaration_faults(rules: Sequence[object]) -> list[str]:
    """Say all that is wrong with what the rules of one plugin declare, a line for each fault."""
    if not 1 <= len(rules) <= MOST_RULES:
        more = " or more" if len(rules) > MOST_RULES else ""
        return [f"a plugin gives 1 to {MOST_RULES} rules, not {len(rules)}{more}"]
    faults: list[str] = []
    good: list[Rule] = []
    for place, rule in enumerate(rules):
        if not isinstance(rule, Rule):
            faults.append(f"rule {place}: {type(rule).__name__} is not a Rule")
            continue
        name = rule.id if is_name(rule.id) else str(place)
        faults.extend(f"rule {name}: {fault}" for fault in _faults_of(rule))
        good.append(rule)
    ids = [rule.id for rule in good]
    twice = sorted({name for name in ids if isinstance(name, str) and ids.count(name) > 1})
    faults.extend(f"rule {name}: two rules have this id" for name in twice)
    for role in ("settings", "inputs"):
        given = [cls for rule in good if (cls := getattr(rule, role)) is not None]
        if any(cls is not given[0] for cls in given):
            faults.append(f"{role}: all rules of a plugin share one dataclass")
    return faults


def _faults_of(rule: Rule) -> Iterator[str]:
    if not is_name(rule.id):
        yield f"id {rule.id!r} is not kebab-case of at most {_LONGEST_NAME} characters"
    if not _is_words(rule.title):
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


def _is_words(text: object) -> bool:
    return is_text(text) and bool(str(text).strip())


def _faults_of_call(name: str, function: Callable[..., Any]) -> Iterator[str]:
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


def _faults_of_dataclass(role: str, cls: Any) -> Iterator[str]:
    if not (isinstance(cls, type) and dataclasses.is_dataclass(cls)):
        yield f"{role} is not a dataclass"
        return
    if not getattr(cls, "__dataclass_params__").frozen:  # noqa: B009
        yield f"{role} is not frozen"
    faulty = False
    for field in dataclasses.fields(cls):
        for fault in _faults_of_field(field, role):
            faulty = True
            yield f"{role}.{field.name} {fault}"
    if faulty:
        return
    names = {field.name for field in dataclasses.fields(cls)}
    if set(inspect.signature(cls).parameters) != names:
        yield f"{role} is not made of its fields alone"
    elif not any(map(fields.is_required, dataclasses.fields(cls))):
        try:
            cls()
        except Exception as error:
            yield f"{role} cannot be made of its defaults: {error}"


def _faults_of_field(field: dataclasses.Field[Any], role: str) -> Iterable[str]:
    if not _FIELD.fullmatch(field.name):
        return ["is not a name of lower-case letters, digits and underscores"]
    try:
        spec = fields.spec_of(field)
    except KeyError:
        return ["is not declared with rules.length or another of its kind"]
    if type(spec) not in _KINDS or spec.is_list:
        return ["is not a single plain value"]
    assert isinstance(spec, Plain)
    faults = [*_faults_of_spec(spec, role), *_faults_of_deprecation(field, spec, role)]
    return faults or _faults_of_default(field, spec)


def _faults_of_spec(spec: Plain, role: str) -> Iterator[str]:
    if not _is_words(spec.doc):
        yield f"has no meaning in words: one text of 1 to {LONGEST_TEXT} characters"
    if isinstance(spec, Figure):
        yield from _faults_of_range(spec, role)
    elif isinstance(spec, Choice):
        words: object = spec.choices
        if type(words) is not tuple or not words or not all(map(_is_words, words)):
            yield "offers choices that are not a tuple of texts, such as ('left', 'right')"
        elif len(set(words)) < len(words):
            yield "offers the same choice twice"
    elif isinstance(spec, Text):
        longest: object = spec.longest
        if type(longest) is not int or not 1 <= longest <= LONGEST_TEXT:
            yield f"has a greatest length that is not a whole number from 1 to {LONGEST_TEXT}"


def _faults_of_deprecation(field: dataclasses.Field[Any], spec: Plain, role: str) -> Iterator[str]:
    if spec.deprecated is None:
        return
    if role != "inputs":
        yield "is deprecated, which only an input can be"
    elif fields.is_required(field):
        yield "is deprecated and has no default, so nobody could leave it out"
    if not _is_words(spec.deprecated.instead):
        yield "does not say what to use instead"


def _faults_of_range(spec: Figure, role: str) -> Iterator[str]:
    ends = (spec.low, spec.high)
    whole = isinstance(spec, Whole)
    if whole and not all(type(end) is int and abs(end) <= _LARGEST_WHOLE for end in ends):
        yield f"has a range that is not of whole numbers up to {_LARGEST_WHOLE}"
        return
    if not all(type(end) in (int, float) and math.isfinite(end) for end in ends):
        yield "has a range that is not of two finite numbers"
        return
    if spec.low >= spec.high:
        yield f"has a range whose low end, {spec.low:g}, is not below its high end, {spec.high:g}"
    if not isinstance(spec, Quantity):
        return
    if spec.dimension not in DIMENSIONS:
        yield f"has a dimension that is not one of {', '.join(DIMENSIONS)}"
    elif role == "inputs" and spec.dimension == "frequency":
        yield "is a frequency, which no request can state"
    elif spec.low <= 0 and any(unit.reciprocal for unit in DIMENSIONS[spec.dimension]):
        yield "is a static spine whose range does not begin above zero"


def _faults_of_default(field: dataclasses.Field[Any], spec: Plain) -> Iterator[str]:
    default = field.default
    if field.default_factory is not dataclasses.MISSING:
        yield "has a default factory; give a plain default"
    elif default is dataclasses.MISSING or default is None:
        return
    elif type(default) not in _PLAIN:
        yield f"has the default {default!r}, which is no plain value"
    elif (fault := spec.fault_in(default)) is not None:
        yield f"has a default that {fault}"
