"""One trial of a plugin: a fitting, inputs and settings; made at random, made simpler, in words."""

from __future__ import annotations

import dataclasses
import math
import random
import time
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Final

from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.field_kinds import Figure, Part, Quantity, Text, Whole
from drawmark.fitting.fields import declared, is_required
from drawmark.fitting.model import Archer, Bow, Fitting
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.model import Case
from drawmark.rules.random_cases import random_fitting, random_instance
from drawmark.rules.registry import Plugin
from drawmark.rules.rule_call import case_of
from drawmark.rules.rule_set import RuleSet, bind
from drawmark.rules.text_values import read, write_quantity

MOST_TRIES: Final = 2000
LONGEST_SEARCH: Final = 3.0
"""How long a smaller case is looked for [s]."""
PLAIN_ARCHER: Final = Archer(draw_length=0.7, draw_length_convention="standard")
_ODD_TEXT: Final = "Ω'\"&<%s{0}\\"


@dataclass(frozen=True, kw_only=True)
class Trial:
    """What the rules of a plugin are asked about once."""

    plugin: Plugin
    fitting: Fitting
    settings: Any = None
    inputs: Any = None

    @cached_property
    def facts(self) -> Facts:
        """The facts of the fitting; FittingError if it contradicts itself."""
        return facts_of(self.fitting)

    @cached_property
    def ruleset(self) -> RuleSet:
        """The plugin's rules under these settings."""
        rules = bind(self.plugin, self.settings)
        return RuleSet(name="alone", title="The plugin's rules", rules=rules)

    @property
    def local(self) -> dict[str, object]:
        """The inputs by plugin."""
        return {} if self.inputs is None else {self.plugin.name: self.inputs}

    @property
    def case(self) -> Case:
        """Lay a copy before a rule, which may go round what guards its case."""
        return deepcopy(self._case)

    @property
    def _case(self) -> Case:
        return case_of(self.fitting, self.facts, self.ruleset.groups[0], self.local)

    @property
    def asked(self) -> tuple[BoundRule, ...]:
        """The rules in force that have what they need."""
        groups = self.ruleset.groups
        return groups[0].selector.select(self._case).rules if groups else ()

    def __str__(self) -> str:
        """Name every value that is given, in familiar units."""
        trees = {
            "archer": self.fitting.archer,
            "bow": self.fitting.bow,
            "arrow": self.fitting.arrow,
            f"local.{self.plugin.name}": self.inputs,
            "settings": self.settings,
        }
        given = ((name, tree) for name, tree in trees.items() if tree is not None)
        return ", ".join(one for name, tree in given for one in _told(tree, name))


def random_trial(plugin: Plugin, settings: Any, rng: random.Random) -> Trial:
    """Make a trial that can be computed; with settings as written, or random ones if None."""
    chosen: Any = None
    if plugin.settings is not None:
        chosen = (
            random_instance(plugin.settings, rng)
            if settings is None
            else read(plugin.settings, settings, "settings")
        )
    inputs: Any = None
    if plugin.inputs is not None and rng.random() < 0.7:
        inputs = random_instance(plugin.inputs, rng)
    for _ in range(MOST_TRIES):
        trial = Trial(plugin=plugin, fitting=random_fitting(rng), settings=chosen, inputs=inputs)
        if is_computable(trial):
            return trial
    raise AssertionError("no random fitting can be computed")


def is_computable(trial: Trial) -> bool:
    """Tell whether the fitting contradicts itself nowhere."""
    try:
        return trial.facts is not None
    except FittingError:
        return False


def hostile_trials(trial: Trial) -> Iterator[Trial]:
    """Give the plainest fitting, and each input at each end of what a request may send."""
    yield replace(
        trial,
        fitting=Fitting(archer=PLAIN_ARCHER, bow=Bow(kind="other")),
        inputs=None,
    )
    if trial.inputs is None:
        return
    cls: type = type(trial.inputs)
    for name, spec, default in declared(cls):
        ends: list[Any] = [] if default is dataclasses.MISSING else [default]
        if isinstance(spec, Whole):
            ends += [int(spec.low), int(spec.high)]
        elif isinstance(spec, Figure):
            ends += [float(spec.low), float(spec.high)]
        elif isinstance(spec, Text):
            ends += ["", _ODD_TEXT[: spec.longest], "x" * spec.longest]
        for end in ends:
            if (changed := _changed(trial.inputs, name, end)) is not None:
                yield replace(trial, inputs=changed)


def trials_apart(trial: Trial, share: float) -> tuple[Trial, ...] | None:
    """Give the trial and two like it in which fields they have, to be put into columns."""
    items = [trial]
    for factor in (1 - share, 1 + share):
        fitting, inputs = (_scaled(tree, factor) for tree in (trial.fitting, trial.inputs))
        if fitting is None or (inputs is None) != (trial.inputs is None):
            return None
        item = replace(trial, fitting=fitting, inputs=inputs)
        if not is_computable(item):
            return None
        items.append(item)
    return tuple(items)


def _scaled(tree: Any, factor: float) -> Any:
    if tree is None:
        return None
    changes: dict[str, Any] = {}
    for field in dataclasses.fields(tree):
        value = getattr(tree, field.name)
        spec = field.metadata.get("drawmark")
        if dataclasses.is_dataclass(value):
            changes[field.name] = _scaled(value, factor)
        elif isinstance(spec, Whole) and type(value) is int:
            further = value + (1 if factor > 1 else -1)
            changes[field.name] = min(max(further, int(spec.low)), int(spec.high))
        elif isinstance(spec, Figure) and type(value) is float:
            changes[field.name] = min(max(value * factor, spec.low), spec.high)
    try:
        return replace(tree, **changes)
    except ValueError:
        return None


def simplest(trial: Trial, fails: Callable[[Trial], bool]) -> Trial:
    """Leave out and round whatever can be, as long as it fails."""
    end = time.monotonic() + LONGEST_SEARCH
    simpler = True
    while simpler:
        simpler = False
        for candidate in _simpler(trial):
            if time.monotonic() > end:
                return trial
            if is_computable(candidate) and fails(candidate):
                trial, simpler = candidate, True
                break
    return trial


def _simpler(trial: Trial) -> Iterator[Trial]:
    if trial.inputs is not None:
        yield replace(trial, inputs=None)
        for inputs in _simpler_trees(trial.inputs):
            yield replace(trial, inputs=inputs)
    fitting = trial.fitting
    archer = fitting.archer
    assert archer is not None
    if archer != PLAIN_ARCHER:
        yield replace(trial, fitting=replace(fitting, archer=PLAIN_ARCHER))
    bow = fitting.bow
    if bow is not None and bow.kind != "recurve":
        yield replace(trial, fitting=replace(fitting, bow=replace(bow, kind="recurve")))
    if archer.draws is not None:
        mean = math.fsum(archer.draws) / len(archer.draws)
        plain = replace(archer, draws=None, draw_length=mean)
        yield replace(trial, fitting=replace(fitting, archer=plain))
    # Fields that are given together, or not at all.
    for part, pair in (
        ("archer", {"draw_variation": None, "draw_count": None}),
        ("bow", {"draw_weight": None, "draw_weight_basis": None}),
    ):
        tree: Any = getattr(fitting, part)
        if any(getattr(tree, name) is not None for name in pair):
            yield replace(trial, fitting=replace(fitting, **{part: replace(tree, **pair)}))
    if fitting.arrow is not None:
        yield replace(trial, fitting=replace(fitting, arrow=None))
    for part in ("arrow", "bow", "archer"):
        if (tree := getattr(fitting, part)) is not None:
            for changed in _simpler_trees(tree):
                yield replace(trial, fitting=replace(fitting, **{part: changed}))


def _simpler_trees(tree: Any) -> Iterator[Any]:
    cls: type = type(tree)
    for field in dataclasses.fields(tree):
        value = getattr(tree, field.name)
        if not is_required(field) and value != field.default:
            yield from _given(_changed(tree, field.name, field.default))
    for name, spec, _ in declared(cls):
        value = getattr(tree, name)
        if isinstance(spec, Part) and not spec.is_list and value is not None:
            for below in _simpler_trees(value):
                yield from _given(_changed(tree, name, below))
        elif isinstance(spec, Figure) and type(value) is float:
            for digits in (1, 2):
                rounded = float(f"{value:.{digits}g}")
                if rounded != value and spec.fault_in(rounded) is None:
                    yield from _given(_changed(tree, name, rounded))
                    break


def _changed(tree: Any, name: str, value: Any) -> Any:
    try:
        return replace(tree, **{name: value})
    except ValueError:
        return None


def _given(tree: Any) -> Iterator[Any]:
    if tree is not None:
        yield tree


def _told(tree: Any, path: str) -> Iterator[str]:
    cls: type = type(tree)
    for name, spec, default in declared(cls):
        value = getattr(tree, name)
        if value is None or value == default:
            continue
        if isinstance(spec, Part) and not spec.is_list:
            yield from _told(value, f"{path}.{name}")
        elif isinstance(spec, Quantity):
            unit = DIMENSIONS[spec.dimension][0].symbol
            figures = value if spec.is_list else (value,)
            yield f"{path}.{name} {' and '.join(write_quantity(one, unit) for one in figures)}"
        else:
            yield f"{path}.{name} {value!r}"
