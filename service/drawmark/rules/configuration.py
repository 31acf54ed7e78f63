"""The rule sets of a service: from the club's configuration file, or one for all without it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, Final

from drawmark.fitting.field_kinds import Quantity
from drawmark.fitting.fields import is_required, specs_of
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.club_file import missing_core, read_file
from drawmark.rules.model import Rule
from drawmark.rules.registry import Registry
from drawmark.rules.rule_set import Absent, Binder, Group, RuleSet, bind
from drawmark.rules.stated_rules import CLUB_FILE
from drawmark.rules.text_values import write_quantity

DEFAULT_NAME: Final = "default"


@dataclass(frozen=True, kw_only=True, slots=True)
class Configuration:
    """All rule sets of a service.

    Parameters
    ----------
    rulesets : mapping
        Names to rule sets.
    default : str
        Name of the one for requests that name none.
    """

    rulesets: Mapping[str, RuleSet]
    default: str

    @property
    def missing(self) -> tuple[Absent, ...]:
        """Plugins that are required somewhere and not active: the service is not ready."""
        found = {plugin for ruleset in self.rulesets.values() for plugin in ruleset.missing}
        return tuple(sorted(found, key=lambda plugin: plugin.name))

    def limited_to(self, names: Sequence[str]) -> Configuration:
        """Give some of the rule sets alone; the first is the default."""
        return Configuration(
            rulesets={name: self.rulesets[name] for name in names}, default=names[0]
        )

    @property
    def stated(self) -> tuple[tuple[str, Rule], ...]:
        """The rules that the club's file states, each with what stands as its plugin."""
        return tuple(
            (CLUB_FILE, bound.rule)
            for ruleset in self.rulesets.values()
            for bound in ruleset.rules
            if bound.plugin == CLUB_FILE
        )


def configure(
    registry: Registry, path: str | Path | None = None, binder: Binder | None = None
) -> Configuration:
    """Make the rule sets; ReadingError with every fault of the file, each with line and key.

    Several files that are read with one binder share the rules that they bind alike.
    """
    if path is None:
        return Configuration(rulesets={DEFAULT_NAME: everything(registry)}, default=DEFAULT_NAME)
    rulesets, default = read_file(path, registry, binder)
    return Configuration(rulesets=rulesets, default=default)


def everything(registry: Registry) -> RuleSet:
    """Make the rule set for a service without a configuration file."""
    rules: list[BoundRule] = []
    missing = missing_core(registry)
    for plugin in registry.active:
        cls = plugin.settings
        if cls is None:
            rules.extend(bind(plugin, None))
        elif not any(map(is_required, fields(cls))):
            rules.extend(bind(plugin, cls()))
    return RuleSet(
        name=DEFAULT_NAME,
        title="The core's rules and all plugins that need no settings",
        rules=tuple(rules),
        missing=missing,
        absent=tuple(
            Absent(name=plugin.name, reason=str(plugin.error))
            for plugin in registry.failed
            if plugin.name not in {one.name for one in missing}
        ),
    )


def describe(configuration: Configuration) -> str:
    """Say in plain words what each rule set would do."""
    lines = [f"Requests that name no rule set get {configuration.default!r}."]
    for ruleset in configuration.rulesets.values():
        lines += ["", f"{ruleset.name}: {ruleset.title}"]
        for group in ruleset.groups:
            lines += _lines_of_group(group)
        lines += _lines_of_silent(ruleset)
        for plugin in ruleset.missing:
            lines.append(f"  {plugin.name}: REQUIRED AND NOT ACTIVE: {plugin.reason}")
            lines.append("    nothing passes in this rule set, and the service is not ready")
        for plugin in ruleset.absent:
            lines.append(f"  {plugin.name}: not active, and every answer says so: {plugin.reason}")
    return "\n".join(lines) + "\n"


def _lines_of_group(group: Group) -> Iterator[str]:
    yield f"  {group.plugin} {group.version}"
    if group.settings is not None:
        for name, words in describe_settings(group.settings):
            yield f"    {name} = {words}"
    for bound in group.rules:
        required = " (required: indeterminate if its fields are missing)"
        yield f"    {bound.rule.id}: {bound.rule.title}{required if bound.required else ''}"


def _lines_of_silent(ruleset: RuleSet) -> Iterator[str]:
    """Name the rules that a setting asked for and that say nothing where fields are missing."""
    silent = [
        f"{bound.plugin}/{bound.rule.id} without {', '.join(bound.not_checked(()).fields)}"
        for bound in ruleset.rules
        if (bound.rule.applies is not None or bound.plugin == CLUB_FILE)
        and bound.needs
        and not bound.required
    ]
    if silent:
        yield f"  silent unless required: {'; '.join(silent).replace('|', ' or ')}"


def describe_settings(settings: Any) -> Iterator[tuple[str, str]]:
    """Name each setting that is given and its value, quantities in two units of their kind."""
    for name, spec in specs_of(type(settings)).items():
        value = getattr(settings, name)
        if value is None:
            continue
        if not isinstance(spec, Quantity):
            yield name, str(value).lower() if isinstance(value, bool) else str(value)
            continue
        units = [unit.symbol for unit in DIMENSIONS[spec.dimension]]
        shown = [symbol for symbol in ("mm", "in", "g", "gr", "N", "lbf") if symbol in units]
        yield name, " = ".join(write_quantity(value, symbol) for symbol in shown or units[:1])
