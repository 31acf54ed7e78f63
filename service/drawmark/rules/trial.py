"""One trial of a plugin: a fitting, inputs and settings; made at random, made simpler, in words."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any, Final

from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.field_kinds import Figure, Part, Quantity, Text, Whole
from drawmark.fitting.fields import declared
from drawmark.fitting.model import Archer, Bow, Fitting
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.column_trees import group_alike
from drawmark.rules.model import Case
from drawmark.rules.random_cases import random_fitting, random_instance
from drawmark.rules.registry import Plugin
from drawmark.rules.rule_call import case_of
from drawmark.rules.rule_set import RuleSet, bind
from drawmark.rules.text_values import read, write_quantity

MOST_TRIES: Final = 2000
PLAIN_ARCHER: Final = Archer(draw_length=0.7, draw_length_convention="standard")
GROWTHS: Final = (0.005, 0.03, 0.1)
"""By how much longer draws are tried [m]."""
SHARES: Final = (0.1, 1e-3)
"""How far the items of a column lie apart, as a share of each figure."""
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

    @property
    def ruleset(self) -> RuleSet:
        """The plugin's rules under these settings."""
        return _ruleset_of(self.plugin, self.settings)

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

    @cached_property
    def alike(self) -> tuple[Trial, ...] | None:
        """The trial and two like it, to be put into columns; None where there are none."""
        for share in SHARES:
            items = _trials_apart(self, share)
            if items is None:
                continue
            trees = [(one.fitting, one.facts, one.local) for one in items]
            selected = {tuple(bound.key for bound in one.asked) for one in items}
            if len(group_alike(trees)) == 1 == len(selected):
                return items
        return None

    @cached_property
    def longer(self) -> tuple[tuple[float, Trial], ...]:
        """Trials with longer draws, each with how much longer [m], where they can be computed."""
        trials = ((growth, _with_longer_draw(self, growth)) for growth in GROWTHS)
        # What ends the draw decides which floors there are, in the core too.
        return tuple(
            (growth, trial)
            for growth, trial in trials
            if is_computable(trial) and trial.facts.control == self.facts.control
        )

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


# Binding and compiling costs as much as asking.
@lru_cache(maxsize=256)
def _ruleset_of(plugin: Plugin, settings: Any) -> RuleSet:
    return RuleSet(name="alone", title="The plugin's rules", rules=bind(plugin, settings))


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
            if (changed := changed_tree(trial.inputs, name, end)) is not None:
                yield replace(trial, inputs=changed)


def _trials_apart(trial: Trial, share: float) -> tuple[Trial, ...] | None:
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


def _with_longer_draw(trial: Trial, growth: float) -> Trial:
    archer = trial.fitting.archer
    assert archer is not None
    changes: dict[str, Any] = {}
    if archer.draw_length is not None:
        changes["draw_length"] = archer.draw_length + growth
    if archer.draws is not None:
        changes["draws"] = tuple(draw + growth for draw in archer.draws)
    return replace(trial, fitting=replace(trial.fitting, archer=replace(archer, **changes)))


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


def changed_tree(tree: Any, name: str, value: Any) -> Any:
    """Give a part with another value of a field; None where its class refuses that."""
    try:
        return replace(tree, **{name: value})
    except ValueError:
        return None


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
