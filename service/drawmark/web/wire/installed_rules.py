"""What is installed: plugins, rule sets, and the `local` member that they make."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import marshmallow as ma

from drawmark.rules import registry as plugins
from drawmark.rules.registry import Registry, joined
from drawmark.rules.rule_sets import Configuration, configure, everything
from drawmark.web.wire.schemas import WORDS, Strict, named, schema_of


@dataclass(frozen=True, kw_only=True)
class Rules:
    """What the service knows of rules: plugins and rule sets."""

    registry: Registry
    configuration: Configuration

    @cached_property
    def inputs(self) -> dict[str, type]:
        """Inputs of the active plugins, by name."""
        return {
            plugin.name: plugin.inputs
            for plugin in self.registry.active
            if plugin.inputs is not None
        }

    @cached_property
    def local(self) -> type[Strict]:
        """Schema of `local`."""
        return named(
            "Local",
            {
                name: ma.fields.Nested(
                    schema_of(cls, component_of(name, "Inputs")), error_messages=WORDS
                )
                for name, cls in self.inputs.items()
            },
        )


def component_of(plugin: str, role: str) -> str:
    """Name the component of a plugin's dataclass from plugin and role."""
    return joined(plugin) + role


def installed_rules(config: str | None = None) -> Rules:
    """Load every plugin, and the rule sets of the club's configuration file where there is one.

    Raises
    ------
    ReadingError
        If the file has faults.
    """
    found = plugins.load()
    return Rules(registry=found, configuration=configure(found, config))


def core_rules() -> Rules:
    """Give the core's own rules alone, whatever else is installed."""
    found = Registry(plugins=tuple(one for one in plugins.load().plugins if one.name == "core"))
    ruleset = everything(found)
    return Rules(
        registry=found,
        configuration=Configuration(rulesets={ruleset.name: ruleset}, default=ruleset.name),
    )
