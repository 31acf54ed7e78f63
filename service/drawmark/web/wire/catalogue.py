"""Views that list rules, plugins, rule sets, units and sources."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any, Final

import msgspec
from flask import Blueprint, Response

from drawmark.fitting.field_kinds import Part, Quantity
from drawmark.fitting.fields import is_required, specs_of
from drawmark.fitting.model import Archer, Arrow, Bow
from drawmark.fitting.sources import SOURCES
from drawmark.fitting.units import UNITS
from drawmark.rules.configuration import describe_settings
from drawmark.rules.model import CORE, Rule
from drawmark.rules.needs import fields_behind
from drawmark.rules.registry import Plugin
from drawmark.rules.stated_rules import CLUB_FILE
from drawmark.web.metrics import metrics_of_process
from drawmark.web.wire.accept import JSON
from drawmark.web.wire.callers import rules_of_request
from drawmark.web.wire.catalogue_entries import (
    PluginEntry,
    PluginState,
    RuleEntry,
    RuleKind,
    RuleSetEntry,
    SourceEntry,
    UnitEntry,
)
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.quantity_field import range_in

MOST_KEPT: Final = 16
"""Callers with different rules for whom a list is kept encoded."""


def rules_in(rules: Rules) -> list[RuleEntry]:
    """List the rules of all active plugins, and those that the club's file states."""
    installed = ((plugin.name, rule) for plugin in rules.registry.active for rule in plugin.rules)
    return [
        {
            "plugin": plugin,
            "rule": rule.id,
            "kind": _kind_of(plugin),
            "title": rule.title,
            "rulesets": [
                ruleset.name
                for ruleset in rules.configuration.rulesets.values()
                if any(bound.rule is rule for bound in ruleset.rules)
            ],
            "needs": _needs_of(plugin, rule),
            "gives": sorted(rule.gives),
            "source": rule.source or "",
        }
        for plugin, rule in (*installed, *rules.configuration.stated)
    ]


def _kind_of(plugin: str) -> RuleKind:
    return "core" if plugin == CORE else "stated" if plugin == CLUB_FILE else "plugin"


def _needs_of(plugin: str, rule: Rule) -> list[str]:
    """Name the fields of a request that a rule needs, the plugin's inputs among them."""
    inputs = () if rule.inputs is None else dataclasses.fields(rule.inputs)
    needs = (*rule.needs, *(f"local.{one.name}" for one in inputs if is_required(one)))
    return list(dict.fromkeys(path for need in needs for path in fields_behind(need, plugin)))


def plugins_in(rules: Rules) -> list[PluginEntry]:
    """List the installed plugins, failed ones too."""
    return [
        {
            **state_of(plugin),
            "rules": [rule.id for rule in plugin.rules],
            "deprecated": list(plugin.deprecated),
        }
        for plugin in rules.registry.plugins
    ]


def state_of(plugin: Plugin) -> PluginState:
    """Tell whether a plugin was loaded, and which of its rules are off at the moment."""
    off = sorted(rule for name, rule in metrics_of_process().rules_off() if name == plugin.name)
    return {
        "plugin": plugin.name,
        "version": plugin.version,
        "status": plugin.status,
        "error": plugin.error or "",
        "rules_off": off,
    }


def rulesets_in(rules: Rules) -> list[RuleSetEntry]:
    """List the rule sets with their plugins and settings."""
    return [
        {
            "ruleset": ruleset.name,
            "title": ruleset.title,
            "default": ruleset.name == rules.configuration.default,
            "plugins": [
                {
                    "plugin": group.plugin,
                    "version": group.version,
                    "settings": dict(describe_settings(group.settings)) if group.settings else {},
                }
                for group in ruleset.groups
            ],
            "missing": [{"plugin": one.name, "reason": one.reason} for one in ruleset.missing],
        }
        for ruleset in rules.configuration.rulesets.values()
    ]


def units_in(rules: Rules) -> list[UnitEntry]:
    """List the units, each with the range of the core's fields in it."""
    fields = [
        (f"{part}.{name}", spec)
        for part, cls in (("archer", Archer), ("bow", Bow), ("arrow", Arrow))
        for name, spec in _quantities_in(cls)
    ]
    return [
        {
            "unit": unit.symbol,
            "name": unit.name,
            "dimension": unit.dimension,
            "si_factor": unit.factor,
            "reciprocal": unit.reciprocal,
            "decimals": unit.decimals,
            "fields": [
                {"field": name, "least": ranges[0], "greatest": ranges[1]}
                for name, spec in fields
                if spec.dimension == unit.dimension
                for ranges in (range_in(spec, unit),)
            ],
        }
        for unit in UNITS.values()
    ]


def _quantities_in(cls: type) -> Iterator[tuple[str, Quantity]]:
    for name, spec in specs_of(cls).items():
        if isinstance(spec, Quantity):
            yield name, spec
        elif isinstance(spec, Part):
            for below, inner in _quantities_in(spec.cls):
                yield f"{name}.{below}", inner


def sources_in(rules: Rules) -> list[SourceEntry]:
    """List the sources of constants, with their marks."""
    return [
        {"source": source.key, "mark": source.mark, "text": source.text}
        for source in SOURCES.values()
    ]


CATALOGUES: dict[str, Callable[[Rules], Sequence[Any]]] = {
    "rules": rules_in,
    "plugins": plugins_in,
    "rulesets": rulesets_in,
    "units": units_in,
    "sources": sources_in,
}


def blueprint() -> Blueprint:
    """Register the catalogues of what a caller sees."""
    blue = Blueprint("catalogue", __name__, url_prefix="/v1")
    for name, listed in CATALOGUES.items():
        blue.add_url_rule(
            f"/{name}", name, _view(name, listed), methods=["GET"], provide_automatic_options=False
        )
    return blue


def _view(name: str, listed: Callable[[Rules], Sequence[Any]]) -> Callable[[], Response]:
    def encode(rules: Rules) -> bytes:
        return msgspec.json.encode({name: listed(rules)})

    if name != "plugins":
        # The state of plugins may change.
        encode = lru_cache(maxsize=MOST_KEPT)(encode)
    return lambda: Response(encode(rules_of_request()), mimetype=JSON)
