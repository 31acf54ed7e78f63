"""Plugins and rule sets in force, and the `local` member that they define."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

import marshmallow as ma

from drawmark.rules import registry as plugins
from drawmark.rules.configuration import Configuration, configure
from drawmark.rules.registry import Registry, joined
from drawmark.web.wire.conversion import Inputs
from drawmark.web.wire.schemas import WORDS, Strict, named, schema_of


@dataclass(frozen=True, kw_only=True, eq=False)
class Rules:
    """The plugins and rule sets that a caller sees."""

    registry: Registry
    configuration: Configuration

    @staticmethod
    def within(registry: Registry, configuration: Configuration) -> Rules:
        """Give some rule sets with the plugins that they name, and no others."""
        named = frozenset(
            name for ruleset in configuration.rulesets.values() for name in ruleset.named
        )
        return Rules(registry=registry.limited_to(named), configuration=configuration)

    @cached_property
    def inputs(self) -> dict[str, type]:
        """Dataclasses of the active plugins' inputs, by plugin."""
        return {
            plugin.name: plugin.inputs
            for plugin in self.registry.active
            if plugin.inputs is not None
        }

    @cached_property
    def local(self) -> type[Strict]:
        """Schema of `local`."""
        return _local_of(tuple(self.inputs.items()))


# Made once, however often a service reads its files again.
@cache
def _local_of(inputs: Inputs) -> type[Strict]:
    members: dict[str, Any] = {
        name: ma.fields.Nested(schema_of(cls, component_of(name, "Inputs")), error_messages=WORDS)
        for name, cls in inputs
    }
    return named("Local", {**members, "inputs": inputs})


def component_of(plugin: str, role: str) -> str:
    """Name the component of a plugin's dataclass."""
    return joined(plugin) + role


def installed_rules(config: str | None = None, registry: Registry | None = None) -> Rules:
    """Give all plugins, and the club's rule sets; ReadingError if its file has faults."""
    registry = registry or plugins.load()
    return Rules(registry=registry, configuration=configure(registry, config))


def core_rules() -> Rules:
    """Give the core's own rules only."""
    core = tuple(one for one in plugins.load().plugins if one.name == "core")
    return installed_rules(registry=Registry(plugins=core))
