"""The rule sets of a service: from the club's configuration file, or one for all without it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, Final

from drawmark.fitting.fields import is_required
from drawmark.rules.binding import CORE, Absent, BoundRule, RuleSet
from drawmark.rules.registry import Plugin, Registry

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
        found = (plugin for ruleset in self.rulesets.values() for plugin in ruleset.missing)
        return tuple(sorted(set(found), key=lambda plugin: plugin.name))


def configure(registry: Registry, path: str | Path | None = None) -> Configuration:
    """Make the rule sets.

    Parameters
    ----------
    registry : Registry
        The plugins.
    path : str, Path or None
        The club's configuration file; without one there is a single rule set of the core and
        every active plugin whose settings all have defaults.

    Returns
    -------
    Configuration
        The rule sets.

    Raises
    ------
    ReadingError
        With every fault of the file.
    """
    if path is None:
        return Configuration(rulesets={DEFAULT_NAME: everything(registry)}, default=DEFAULT_NAME)
    raise ValueError("no file can be read yet")


def everything(registry: Registry) -> RuleSet:
    """Make the rule set for a service without a configuration file."""
    rules: list[BoundRule] = []
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
        missing=missing_core(registry),
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
        if rule.applies is None or rule.applies(settings)
    )


def missing_core(registry: Registry) -> tuple[Absent, ...]:
    """Name the core where it could not be loaded: nothing passes without it."""
    core = registry.find(CORE)
    if core is not None and core.status == "active":
        return ()
    return (Absent(name=CORE, reason="not installed" if core is None else str(core.error)),)
