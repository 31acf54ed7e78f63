"""Rules bound to the settings of a rule set, with all that can be worked out beforehand."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Any, Final

from drawmark.fitting.fields import is_required
from drawmark.rules.model import Rule
from drawmark.rules.needs import fields_behind
from drawmark.rules.outcome import Applied, NotChecked, Unevaluated
from drawmark.rules.rule_selection import Plans

if TYPE_CHECKING:
    from drawmark.rules.registry import Plugin

CORE: Final = "core"


@dataclass(frozen=True, kw_only=True, slots=True)
class BoundRule:
    """A rule in force in a rule set.

    Parameters
    ----------
    plugin, version : str
        Whose rule it is.
    rule : Rule
        The rule.
    settings : Any
        The plugin's settings in this rule set.
    required : bool
        Where its fields are missing the verdict is at least indeterminate.
    """

    plugin: str
    version: str
    rule: Rule
    settings: Any = None
    required: bool = False
    needs: tuple[str, ...] = field(init=False, repr=False)
    sets_floors: bool = field(init=False)
    sets_lengths: bool = field(init=False)
    key: tuple[str, str] = field(init=False)

    def __post_init__(self) -> None:
        """Work out beforehand what every evaluation asks."""
        needs = tuple(self.rule.needs)
        if self.rule.inputs is not None and any(map(is_required, fields(self.rule.inputs))):
            needs = (*needs, "local")
        gives = self.rule.gives
        object.__setattr__(self, "needs", needs)
        object.__setattr__(self, "sets_floors", "floor" in gives)
        object.__setattr__(self, "sets_lengths", "floor" in gives or "ceiling" in gives)
        object.__setattr__(self, "key", (self.plugin, self.rule.id))

    def not_checked(self, there: Container[str]) -> NotChecked:
        """Name the fields that would allow this rule, beside the needs that are met."""
        missing = [
            path
            for need in self.needs
            if need not in there
            for path in _lacking(fields_behind(need, self.plugin), there)
        ]
        return NotChecked(self.plugin, self.rule.id, self.rule.title, tuple(dict.fromkeys(missing)))


def _lacking(paths: tuple[str, ...], there: Container[str]) -> tuple[str, ...]:
    # Where all are given, and the fact is still not known, nobody can say which is at fault.
    return tuple(path for path in paths if path not in there) or paths


@dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """The rules of one plugin in a rule set; they share settings and inputs."""

    plugin: str
    version: str
    settings: Any
    rules: tuple[BoundRule, ...]
    trusted: bool
    inputs: Any
    plans: Plans = field(init=False, repr=False, compare=False)
    length_plans: Plans = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Make ready what every evaluation asks."""
        lengths = [rule for rule in self.rules if rule.sets_lengths]
        object.__setattr__(self, "plans", Plans(self.rules))
        object.__setattr__(self, "length_plans", Plans(lengths))


@dataclass(frozen=True, kw_only=True, slots=True)
class Absent:
    """A plugin that a rule set names and that is not active."""

    name: str
    reason: str


@dataclass(frozen=True, kw_only=True, slots=True)
class RuleSet:
    """Rules that apply together.

    Parameters
    ----------
    name : str
        Name, as a request gives it.
    title : str
        What it is for.
    rules : tuple of BoundRule
        The core's rules first, then those of the plugins in the order of their names.
    missing : tuple of Absent
        Plugins that are required and not active: every verdict is at least indeterminate.
    absent : tuple of Absent
        Plugins that are named, not required and not active: every answer lists them.

    Attributes
    ----------
    groups : tuple of Group
        The rules by plugin.
    local : tuple of Group
        Those of plugins.
    """

    name: str
    title: str
    rules: tuple[BoundRule, ...]
    missing: tuple[Absent, ...] = ()
    absent: tuple[Absent, ...] = ()
    groups: tuple[Group, ...] = field(init=False, repr=False)
    local: tuple[Group, ...] = field(init=False, repr=False)
    applied: tuple[Applied, ...] = field(init=False, repr=False)
    not_checked: tuple[NotChecked, ...] = field(init=False, repr=False)
    unevaluated: tuple[Unevaluated, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Sort the rules and work out what every answer repeats."""
        groups = tuple(
            _group([rule for rule in self.rules if rule.plugin == name])
            for name in sorted({rule.plugin for rule in self.rules}, key=_core_first)
        )
        ordered = tuple(rule for group in groups for rule in group.rules)
        object.__setattr__(self, "rules", ordered)
        object.__setattr__(self, "groups", groups)
        object.__setattr__(self, "local", tuple(one for one in groups if not one.trusted))
        object.__setattr__(
            self, "applied", tuple(Applied(group.plugin, group.version) for group in groups)
        )
        object.__setattr__(
            self,
            "not_checked",
            tuple(
                NotChecked(
                    plugin.name, "", f"the whole plugin, which is not active: {plugin.reason}"
                )
                for plugin in self.absent
            ),
        )
        object.__setattr__(
            self,
            "unevaluated",
            tuple(
                Unevaluated(plugin.name, "", f"required and not active: {plugin.reason}")
                for plugin in self.missing
            ),
        )


def _core_first(name: str) -> tuple[bool, str]:
    return (name != CORE, name)


def _group(rules: list[BoundRule]) -> Group:
    first = rules[0]
    trusted = first.plugin == CORE
    ordered = tuple(rules if trusted else sorted(rules, key=lambda rule: rule.rule.id))
    inputs = next((rule.rule.inputs for rule in ordered if rule.rule.inputs is not None), None)
    optional = inputs is not None and not any(map(is_required, fields(inputs)))
    return Group(
        plugin=first.plugin,
        version=first.version,
        settings=first.settings,
        rules=ordered,
        trusted=trusted,
        inputs=inputs() if optional and inputs is not None else None,
    )


def bind(
    plugin: Plugin, settings: Any, required: frozenset[str] = frozenset()
) -> tuple[BoundRule, ...]:
    """Bind the rules of a plugin to settings; those that the settings leave out of force go.

    Parameters
    ----------
    plugin : Plugin
        The plugin, active.
    settings : Any
        Instance of its settings.
    required : frozenset of str
        Rules that the rule set requires, beside those that say so themselves.

    Returns
    -------
    tuple of BoundRule
        Rules in force.
    """
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


def _in_force(rule: Rule, settings: Any) -> bool:
    try:
        return rule.applies is None or bool(rule.applies(settings))
    except Exception:
        # Which settings it needs is unknown; asked about a case, it will say so.
        return True
