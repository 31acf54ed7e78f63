"""Rule sets: the rules that apply together, by plugin, with what every answer repeats."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any, Final
from weakref import WeakValueDictionary

from drawmark.fitting.fields import is_required
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.model import CORE, Rule
from drawmark.rules.outcome import Applied, Unevaluated, sentence
from drawmark.rules.registry import Plugin
from drawmark.rules.rule_selection import RuleSelector


@dataclass(frozen=True, kw_only=True)
class Group:
    """The rules of one plugin in a rule set; they share settings and inputs."""

    plugin: str
    version: str
    settings: Any
    rules: tuple[BoundRule, ...]
    trusted: bool
    inputs: Any

    @cached_property
    def is_watched(self) -> bool:
        """Tell whether a column is parted by the fields that its rules look at.

        The core takes them mixed. Only its required rules must know where their fields are lacking.
        """
        return not self.trusted or any(
            rule.required and not rule.sets_floors for rule in self.rules
        )

    @cached_property
    def selector(self) -> RuleSelector:
        """Selects among all rules."""
        return RuleSelector(self.rules)

    @cached_property
    def length_selector(self) -> RuleSelector:
        """Selects among the rules that may set floors or ceilings."""
        return RuleSelector(rule for rule in self.rules if rule.sets_lengths)


@dataclass(frozen=True, kw_only=True, slots=True)
class Absent:
    """A plugin that a rule set names and that is not active."""

    name: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class RuleSet:
    """Rules that apply together.

    Parameters
    ----------
    name : str
        Name, as a request gives it.
    title : str
        What it is for.
    rules : tuple of BoundRule
        The rules, in any order.
    missing : tuple of Absent
        Plugins that are required and not active: every verdict is at least indeterminate.
    absent : tuple of Absent
        Plugins that failed to load and are not required: every answer says so, and no verdict
        changes.
    """

    name: str
    title: str
    rules: tuple[BoundRule, ...]
    missing: tuple[Absent, ...] = ()
    absent: tuple[Absent, ...] = ()

    def __post_init__(self) -> None:
        """Put the core's rules first, then those of the plugins by name."""
        ordered = (rule for group in self.groups for rule in group.rules)
        object.__setattr__(self, "rules", tuple(ordered))

    @cached_property
    def groups(self) -> tuple[Group, ...]:
        """The rules by plugin."""
        return tuple(
            _group([rule for rule in self.rules if rule.plugin == name])
            for name in sorted({rule.plugin for rule in self.rules}, key=_core_first)
        )

    @property
    def named(self) -> frozenset[str]:
        """Names of the plugins that have rules here, or should have."""
        return self.plugins.union(one.name for one in (*self.missing, *self.absent))

    @cached_property
    def plugins(self) -> frozenset[str]:
        """Names of the plugins that have rules here."""
        return frozenset(group.plugin for group in self.groups)

    @cached_property
    def local(self) -> tuple[Group, ...]:
        """The groups of plugins."""
        return tuple(group for group in self.groups if not group.trusted)

    @cached_property
    def local_in_columns(self) -> RuleSet:
        """The rules of plugins that answer in columns."""
        return self._local(lambda rule: rule.rule.check_many is not None)

    @cached_property
    def local_one_by_one(self) -> RuleSet:
        """The other rules of plugins."""
        return self._local(lambda rule: rule.rule.check_many is None)

    def _local(self, chosen: Callable[[BoundRule], bool]) -> RuleSet:
        rules = (rule for group in self.local for rule in group.rules)
        return replace(self, rules=tuple(filter(chosen, rules)))

    @cached_property
    def order(self) -> Mapping[tuple[str, str], int]:
        """Rules to their place."""
        return {bound.key: place for place, bound in enumerate(self.rules)}

    def in_order(self, unevaluated: Iterable[Unevaluated]) -> tuple[Unevaluated, ...]:
        """Give the rules that could not be evaluated in their order, whole plugins first."""
        return tuple(
            sorted(unevaluated, key=lambda one: self.order.get((one.plugin, one.rule), -1))
        )

    @cached_property
    def applied(self) -> tuple[Applied, ...]:
        """The plugins in force."""
        return tuple(Applied(group.plugin, group.version) for group in self.groups)

    @cached_property
    def unevaluated(self) -> tuple[Unevaluated, ...]:
        """What every answer lacks, since its plugin is not active."""
        required = "The plugin is required and not active: {}"
        named = "The plugin failed to load, and its rules are not applied: {}"
        return tuple(
            Unevaluated(one.name, "", sentence(words.format(one.reason)))
            for words, several in ((required, self.missing), (named, self.absent))
            for one in several
        )


def _core_first(name: str) -> tuple[bool, str]:
    return (name != CORE, name)


_shared: Final[WeakValueDictionary[tuple[int, ...], Group]] = WeakValueDictionary()
"""Groups by the identities of their rules, which live as long as the group."""


def _group(rules: list[BoundRule]) -> Group:
    """Group rules; rule sets with the same bound rules share what is worked out about them."""
    first = rules[0]
    trusted = first.plugin == CORE
    ordered = tuple(rules if trusted else sorted(rules, key=lambda rule: rule.rule.id))
    key = tuple(map(id, ordered))
    group = _shared.get(key)
    if group is None:
        group = _shared[key] = _made_group(ordered)
    return group


def _made_group(ordered: tuple[BoundRule, ...]) -> Group:
    first = ordered[0]
    inputs = next((rule.rule.inputs for rule in ordered if rule.rule.inputs is not None), None)
    optional = inputs is not None and not any(map(is_required, fields(inputs)))
    return Group(
        plugin=first.plugin,
        version=first.version,
        settings=first.settings,
        rules=ordered,
        trusted=first.plugin == CORE,
        inputs=inputs() if optional and inputs is not None else None,
    )


def bind(
    plugin: Plugin, settings: Any, required: frozenset[str] = frozenset()
) -> tuple[BoundRule, ...]:
    """Bind the rules of a plugin to settings; those that its settings switch off are left out."""
    return tuple(
        BoundRule(
            plugin=plugin.name,
            version=plugin.version,
            rule=rule,
            settings=settings,
            required=rule.required or rule.id in required,
        )
        for rule in plugin.rules
        if _in_force(rule, settings)
    )


class Binder:
    """Binds rules, and gives those that it has bound before to the same settings."""

    def __init__(self) -> None:
        self._bound: dict[tuple[Any, ...], tuple[BoundRule, ...]] = {}

    def bind(
        self, plugin: Plugin, settings: Any, required: frozenset[str] = frozenset()
    ) -> tuple[BoundRule, ...]:
        """Bind the rules of a plugin, as the function of this name does."""
        # By its values: a plugin may have written how two of its settings compare.
        values = (
            () if settings is None else [getattr(settings, one.name) for one in fields(settings)]
        )
        key = (plugin.name, required, *map(repr, values))
        bound = self._bound.get(key)
        if bound is None:
            bound = self._bound[key] = bind(plugin, settings, required)
        return bound


def _in_force(rule: Rule, settings: Any) -> bool:
    try:
        return rule.applies is None or bool(rule.applies(settings))
    except Exception:
        # Which settings it needs is unknown; asked about a case, it will say so.
        return True
