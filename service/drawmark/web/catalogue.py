"""What there is: rules, plugins, rule sets, units and sources."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec
from flask import Blueprint, Response

from drawmark.fitting.sources import SOURCES
from drawmark.fitting.units import UNITS
from drawmark.rules.rulesets import describe_settings
from drawmark.web.operation import Rules


def rules_in(rules: Rules) -> list[dict[str, Any]]:
    """List the rules of all active plugins."""
    return [
        {
            "plugin": plugin.name,
            "rule": rule.id,
            "title": rule.title,
            "needs": list(rule.needs),
            "gives": sorted(rule.gives),
            "source": rule.source or "",
        }
        for plugin in rules.registry.active
        for rule in plugin.rules
    ]


def plugins_in(rules: Rules) -> list[dict[str, Any]]:
    """List the installed plugins, failed ones too."""
    return [
        {
            "plugin": plugin.name,
            "version": plugin.version,
            "status": plugin.status,
            "error": plugin.error or "",
            "rules": [rule.id for rule in plugin.rules],
        }
        for plugin in rules.registry.plugins
    ]


def rulesets_in(rules: Rules) -> list[dict[str, Any]]:
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


def units_in(rules: Rules) -> list[dict[str, Any]]:
    """List the units of the wire."""
    return [
        {
            "unit": unit.symbol,
            "name": unit.name,
            "dimension": unit.dimension,
            "si_factor": unit.factor,
            "reciprocal": unit.reciprocal,
            "decimals": unit.decimals,
        }
        for unit in UNITS.values()
    ]


def sources_in(rules: Rules) -> list[dict[str, Any]]:
    """List the sources of constants, with their marks."""
    return [
        {"source": source.key, "mark": source.mark, "text": source.text}
        for source in SOURCES.values()
    ]


CATALOGUES: dict[str, Callable[[Rules], list[dict[str, Any]]]] = {
    "rules": rules_in,
    "plugins": plugins_in,
    "rulesets": rulesets_in,
    "units": units_in,
    "sources": sources_in,
}


def blueprint(rules: Rules) -> Blueprint:
    """Register the catalogues; they do not change while the service runs."""
    blue = Blueprint("catalogue", __name__, url_prefix="/v1")
    for name, listed in CATALOGUES.items():
        blue.add_url_rule(
            f"/{name}",
            name,
            _view(msgspec.json.encode({name: listed(rules)})),
            methods=["GET"],
            provide_automatic_options=False,
        )
    return blue


def _view(body: bytes) -> Callable[[], Response]:
    return lambda: Response(body, mimetype="application/json")
