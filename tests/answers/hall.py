"""The operations with a rule of an invented hall beside the core's."""

from __future__ import annotations

from drawmark.rules.configuration import configure
from drawmark.rules.registry import Registry
from drawmark.web import create_app
from drawmark.web.wire.installed_rules import Rules, core_rules
from rules.bench import plugin, rule


def hall(check):
    """Ask an operation under the core's rules and this one: status and answer."""
    registry = Registry(plugins=(*core_rules().registry.plugins, plugin(rule(check), name="hall")))
    both = Rules(registry=registry, configuration=configure(registry))
    client = create_app(rules=both).test_client()
    return lambda path, body: (200, client.post(f"/v1/{path}", json=body).get_json())


def broken(case):
    raise ValueError("no idea")
