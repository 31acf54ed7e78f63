"""The plugins that are installed, each loaded on its own: one that fails harms no other."""

from __future__ import annotations

import logging
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from importlib.metadata import EntryPoint, entry_points
from itertools import islice
from typing import Any, Final, Literal

import pluggy

from drawmark.rules.declarations import MOST_RULES, declaration_faults, is_name
from drawmark.rules.deprecated_uses import deprecated_uses
from drawmark.rules.hook import PROJECT, Hooks, RuleError
from drawmark.rules.model import CORE, Rule
from drawmark.rules.time_limit import run_in_time
from drawmark.rules.validation import one_line

GROUP: Final = "drawmark.rules.v1"
LOAD_LIMIT: Final = 10.0
"""What importing a plugin and calling its hook may take [s]."""
_LONGEST_ERROR: Final = 1000
_log = logging.getLogger(__name__)
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
    deprecated : tuple of str
        What its code uses that is on its way out, a sentence for each name.
    """

    name: str
    version: str
    status: Literal["active", "failed"] = "active"
    error: str | None = None
    rules: tuple[Rule, ...] = ()
    deprecated: tuple[str, ...] = ()

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

    def limited_to(self, names: Container[str]) -> Registry:
        """Give the core and the named plugins alone."""
        chosen = (one for one in self.plugins if one.name == CORE or one.name in names)
        return Registry(plugins=tuple(chosen))

    @property
    def active(self) -> tuple[Plugin, ...]:
        """Plugins that were loaded."""
        return tuple(plugin for plugin in self.plugins if plugin.status == "active")

    @property
    def failed(self) -> tuple[Plugin, ...]:
        """Plugins that could not be loaded."""
        return tuple(plugin for plugin in self.plugins if plugin.status == "failed")


def load() -> Registry:
    """Load every plugin that is installed; the log names those that fail."""
    installed = entry_points()
    # A group that is only nearly ours is told, not passed over.
    groups = sorted(group for group in installed.groups if group.startswith(PROJECT))
    registry = load_from(point for group in groups for point in installed.select(group=group))
    for plugin in registry.failed:
        _log.error("plugin %s %s failed to load: %s", plugin.name, plugin.version, plugin.error)
    for plugin in registry.active:
        for words in plugin.deprecated:
            _log.warning("plugin %s %s: %s", plugin.name, plugin.version, words)
    return registry


def load_from(found: Iterable[EntryPoint]) -> Registry:
    """Load plugins from entry points in any order."""
    points = sorted(found, key=lambda point: (point.name != CORE, point.name, point.value))
    takers: dict[str, list[EntryPoint]] = {}
    for point in points:
        if not _is_false_core(point):
            takers.setdefault(joined(point.name), []).append(point)
    return Registry(plugins=tuple(_plugin_of(point, takers) for point in points))


def _plugin_of(point: EntryPoint, takers: Mapping[str, Sequence[EntryPoint]]) -> Plugin:
    if _is_false_core(point):
        return _failed(point, f"the name {CORE} is taken")
    if point.group != GROUP:
        return _failed(point, f"its entry point is in the group {point.group}; use {GROUP}")
    several = takers[joined(point.name)]
    if len(several) > 1:
        names = " and ".join(map(_distribution, several))
        return _failed(
            point, f"two plugins have this name, hyphens left aside: {names}; uninstall one"
        )
    return _load_one(point)


def _distribution(point: EntryPoint) -> str:
    return f"{point.dist.name} {point.dist.version}" if point.dist is not None else point.value


def register(name: str, version: str, module: Any) -> Plugin:
    """Take the rules of a module, or of any object with the hook."""
    if not is_name(name):
        raise RuleError(f"the name {name!r} is not kebab-case")
    manager = pluggy.PluginManager(PROJECT)
    manager.add_hookspecs(Hooks)
    manager.register(module)
    manager.check_pending()
    if not manager.hook.drawmark_rules.get_hookimpls():
        raise RuleError("it has no hook named drawmark_rules, marked with hookimpl")
    answers = manager.hook.drawmark_rules() or [None]
    found = [rule for answer in answers for rule in _listed(answer)]
    if faults := declaration_faults(found):
        raise RuleError("; ".join(faults))
    return Plugin(name=name, version=version, rules=tuple(found))


def _listed(answer: Any) -> list[Any]:
    if isinstance(answer, Rule):
        raise RuleError("its hook returned one Rule; return a list of rules")
    if answer is None or not isinstance(answer, Iterable):
        words = "None" if answer is None else type(answer).__name__
        raise RuleError(f"its hook returned {words}; return a list of rules")
    return list(islice(answer, MOST_RULES + 1))


def joined(name: str) -> str:
    """Give a name without hyphens, as the document's components use it."""
    return "".join(word.capitalize() for word in name.split("-"))


def _is_false_core(point: EntryPoint) -> bool:
    return point.name == CORE and point.value != _CORE_MODULE


def _load_one(point: EntryPoint) -> Plugin:
    if point.name == CORE:
        return _try_to_load(point)
    return run_in_time(partial(_try_to_load, point), LOAD_LIMIT) or _failed(
        point, f"its import and its hook took longer than {LOAD_LIMIT:g} s"
    )


def _try_to_load(point: EntryPoint) -> Plugin:
    try:
        plugin = register(point.name, _version(point), point.load())
        if point.name == CORE:
            return plugin
        package = point.value.partition(":")[0].partition(".")[0]
        return replace(plugin, deprecated=deprecated_uses(package, plugin.rules))
    except RuleError as error:
        return _failed(point, str(error))
    except BaseException as error:
        try:
            words = str(error)
        except BaseException:
            words = "its words cannot be read"
        return _failed(point, f"{type(error).__name__}: {words}")


def _failed(point: EntryPoint, error: str) -> Plugin:
    words = one_line(error, _LONGEST_ERROR)
    return Plugin(name=point.name, version=_version(point), status="failed", error=words)


def _version(point: EntryPoint) -> str:
    return point.dist.version if point.dist is not None else "unknown"
