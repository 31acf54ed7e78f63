"""The plugins that are installed, each loaded on its own: one that fails harms no other."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from importlib.metadata import EntryPoint, entry_points
from typing import Any, Final, Literal

import pluggy

from drawmark.rules.hook import PROJECT, Hooks, RuleError, examine, is_name
from drawmark.rules.model import CORE, Rule

GROUP: Final = "drawmark.rules.v1"
_CORE_MODULE: Final = "drawmark.rules.builtin"


@dataclass(frozen=True, kw_only=True, slots=True)
class Plugin:
    """One installed plugin.

    Parameters
    ----------
    name : str
        Name of its entry point.
    version : str
        Version of its distribution.
    status : str
        "active", or "failed" where it could not be loaded.
    error : str or None
        Why it failed.
    rules : tuple of Rule
        Its rules; none where it failed.
    """

    name: str
    version: str
    status: Literal["active", "failed"] = "active"
    error: str | None = None
    rules: tuple[Rule, ...] = ()

    @property
    def settings(self) -> type | None:
        """Dataclass of its settings."""
        return next((rule.settings for rule in self.rules if rule.settings is not None), None)

    @property
    def inputs(self) -> type | None:
        """Dataclass of its part of a request."""
        return next((rule.inputs for rule in self.rules if rule.inputs is not None), None)


@dataclass(frozen=True, kw_only=True, slots=True)
class Registry:
    """All installed plugins, the core first, then by name."""

    plugins: tuple[Plugin, ...]

    def find(self, name: str) -> Plugin | None:
        """Find a plugin by its name."""
        return next((plugin for plugin in self.plugins if plugin.name == name), None)

    @property
    def active(self) -> tuple[Plugin, ...]:
        """Plugins that were loaded."""
        return tuple(plugin for plugin in self.plugins if plugin.status == "active")


def load() -> Registry:
    """Load every plugin that is installed."""
    return load_from(entry_points(group=GROUP))


def load_from(found: Iterable[EntryPoint]) -> Registry:
    """Load plugins from entry points in any order."""
    points = sorted(found, key=lambda point: (point.name != CORE, point.name, point.value))
    names = [joined(point.name) for point in points if not _is_false_core(point)]
    plugins: list[Plugin] = []
    for point in points:
        if _is_false_core(point):
            plugins.append(_failed(point, f"the name {CORE} is taken"))
        elif names.count(joined(point.name)) > 1:
            plugins.append(_failed(point, "two plugins have this name, hyphens left aside"))
        else:
            plugins.append(_load_one(point))
    return Registry(plugins=tuple(plugins))


def register(name: str, version: str, module: Any) -> Plugin:
    """Take the rules of a module, or of any object with the hook."""
    if not is_name(name):
        raise RuleError(f"the name {name!r} is not kebab-case")
    manager = pluggy.PluginManager(PROJECT)
    manager.add_hookspecs(Hooks)
    manager.register(module)
    manager.check_pending()
    answers = manager.hook.drawmark_rules()
    if not answers:
        raise RuleError("it has no hook named drawmark_rules, marked with hookimpl")
    return Plugin(
        name=name,
        version=version,
        rules=examine(rule for answer in answers for rule in answer),
    )


def joined(name: str) -> str:
    """Give a name without hyphens, as the document's components use it."""
    return "".join(word.capitalize() for word in name.split("-"))


def _is_false_core(point: EntryPoint) -> bool:
    return point.name == CORE and point.value != _CORE_MODULE


def _load_one(point: EntryPoint) -> Plugin:
    try:
        return register(point.name, _version(point), point.load())
    except KeyboardInterrupt:
        raise
    except RuleError as error:
        return _failed(point, str(error))
    except BaseException as error:
        return _failed(point, f"{type(error).__name__}: {error}")


def _failed(point: EntryPoint, error: str) -> Plugin:
    words = "".join(sign if sign.isprintable() else " " for sign in error[:1000])
    return Plugin(name=point.name, version=_version(point), status="failed", error=words)


def _version(point: EntryPoint) -> str:
    return point.dist.version if point.dist is not None else "unknown"
