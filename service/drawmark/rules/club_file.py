"""The club's configuration file: named rule sets, their plugins and the settings of these.

default = "evening"

[rulesets.evening]
title = "Beginners' evening"
plugins = ["club-minimums"]
required = ["club-minimums", "club-minimums/draw-weight"]

[rulesets.evening.settings.club-minimums]
minimum_length = "28 in"

[[rulesets.evening.rules]]
id = "no-wood"
fact = "shaft_material"
among = ["wood"]
severity = "stop"
message = "Our backstop breaks wooden arrows. Use others."
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.declarations import is_name
from drawmark.rules.model import CORE
from drawmark.rules.registry import Plugin, Registry
from drawmark.rules.rule_set import Absent, Binder, RuleSet
from drawmark.rules.stated_rules import CLUB_FILE, bind_stated, stated_rules
from drawmark.rules.text_values import Fault, ReadingError, read
from drawmark.rules.toml_lines import line_of, lines_of
from drawmark.rules.validation import is_text

MEMBERS: Final = ("title", "plugins", "required", "settings", "rules")
MOST_DOTS: Final = 100
"""Dots in a line: the time to parse a dotted key grows with its parts times those of its table."""


def read_file(
    path: str | Path, registry: Registry, binder: Binder | None = None
) -> tuple[dict[str, RuleSet], str]:
    """Make the rule sets that a file names; ReadingError with every fault, each with its line."""
    try:
        text = Path(path).read_text(encoding="utf-8")
    except OSError as error:
        raise ReadingError(Fault(str(path), f"cannot be read: {error.strerror}")) from error
    except UnicodeDecodeError as error:
        raise ReadingError(Fault(str(path), f"is not TOML: {error}")) from error
    table = _parse(text, str(path))
    if not table:
        # Emptied by a slip, it would put the club's rules out of force.
        raise ReadingError(Fault(str(path), "is empty: add a rule set, such as [rulesets.evening]"))
    try:
        return rulesets_of(table, registry, binder)
    except ReadingError as error:
        lines = lines_of(text)
        faults = [replace(fault, line=line_of(lines, fault.key)) for fault in error.faults]
        raise ReadingError(*sorted(faults, key=lambda fault: fault.line or 0)) from error


def _parse(text: str, where: str) -> dict[str, Any]:
    for number, line in enumerate(text.split("\n"), start=1):
        if line.count(".") > MOST_DOTS:
            detail = f"has more than {MOST_DOTS} dots in a line: break it into several"
            raise ReadingError(Fault(where, detail, line=number))
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise ReadingError(Fault(where, "nests lists or tables too deeply")) from error
    except ValueError as error:
        raise ReadingError(Fault(where, f"is not TOML: {error}")) from error


def missing_core(registry: Registry) -> tuple[Absent, ...]:
    """Name the core if it could not be loaded: nothing passes without it."""
    core = registry.find(CORE)
    if core is not None and core.status == "active":
        return ()
    return (Absent(name=CORE, reason=_reason(core)),)


def rulesets_of(
    table: Mapping[str, Any], registry: Registry, binder: Binder | None = None
) -> tuple[dict[str, RuleSet], str]:
    """Make the rule sets of a table; ReadingError with every fault."""
    reader = _Reader(registry, binder or Binder())
    reader.refuse_unknown(table, ("default", "rulesets"), "")
    entries = table.get("rulesets")
    if not isinstance(entries, dict) or not entries:
        raise ReadingError(
            *reader.faults,
            Fault("rulesets", "is missing or empty: add a rule set, such as [rulesets.evening]"),
        )
    rulesets = {
        name: ruleset
        for name, entry in entries.items()
        if (ruleset := reader.ruleset(name, entry)) is not None
    }
    default = table.get("default", next(iter(entries)) if len(entries) == 1 else None)
    if default is None:
        reader.fault("default", f"is missing: name one of {', '.join(entries)}")
    elif default not in list(entries):
        reader.fault("default", f"is {default!r}, not one of {', '.join(entries)}")
    if reader.faults:
        raise ReadingError(*reader.faults)
    return rulesets, str(default)


class _Reader:
    """Reads rule sets and collects what is wrong with them."""

    def __init__(self, registry: Registry, binder: Binder) -> None:
        self.registry, self.binder = registry, binder
        self.faults: list[Fault] = []

    def fault(self, key: str, detail: str) -> None:
        self.faults.append(Fault(key, detail))

    def refuse_unknown(self, table: Mapping[str, Any], known: tuple[str, ...], key: str) -> None:
        for name in table:
            if name not in known:
                self.fault(f"{key}{name}", f"is unknown; use {', '.join(known)}")

    def ruleset(self, name: str, entry: object) -> RuleSet | None:
        key = f"rulesets.{name}"
        if not is_name(name):
            self.fault(key, "is not a name: use lower-case words with hyphens between them")
        if not isinstance(entry, dict):
            self.fault(key, "is not a table")
            return None
        self.refuse_unknown(entry, MEMBERS, f"{key}.")
        title = entry.get("title", name)
        if not is_text(title) or not title:
            self.fault(f"{key}.title", "is not a short text")
        plugins = self._names(entry, "plugins", key)
        required = self._names(entry, "required", key)
        settings = entry.get("settings", {})
        if not isinstance(settings, dict):
            self.fault(f"{key}.settings", "is not a table")
            settings = {}
        stated = self._stated(entry, required, key)
        named = sorted({*plugins, *(one.partition("/")[0] for one in required)} - {CORE, CLUB_FILE})
        for plugin in settings:
            if plugin not in named:
                self.fault(
                    f"{key}.settings.{plugin}", "is for a plugin that this rule set does not name"
                )
        rules, missing, absent = list[BoundRule](), list(missing_core(self.registry)), []
        for plugin in (CORE, *named):
            found = self.registry.find(plugin)
            demands = frozenset(
                one for one in required if one == plugin or one.startswith(f"{plugin}/")
            )
            if found is not None and found.status == "active":
                rules += self._bound(found, settings.get(plugin, {}), demands, key)
            elif plugin != CORE and demands:
                missing.append(Absent(name=plugin, reason=_reason(found)))
            elif plugin != CORE and found is not None:
                absent.append(Absent(name=plugin, reason=_reason(found)))
            elif plugin != CORE:
                installed = ", ".join(p.name for p in self.registry.plugins if p.name != CORE)
                self.fault(
                    f"{key}.plugins",
                    f"{plugin!r} is not installed; installed plugins: {installed or 'none'}",
                )
        if self.faults:
            return None
        return RuleSet(
            name=name,
            title=title,
            rules=(*rules, *stated),
            missing=tuple(missing),
            absent=tuple(absent),
        )

    def _names(self, entry: Mapping[str, Any], member: str, key: str) -> list[str]:
        names = entry.get(member, [])
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            self.fault(f"{key}.{member}", "is not a list of names")
            return []
        for name in names:
            if not all(map(is_name, name.split("/", 1) if member == "required" else [name])):
                self.fault(f"{key}.{member}", f"{name!r} is not the name of a plugin")
            elif name == CLUB_FILE:
                self.fault(f"{key}.{member}", f"{name!r} is this file: name a rule of it")
            if names.count(name) > 1:
                self.fault(f"{key}.{member}", f"{name!r} is named twice")
        return list(dict.fromkeys(names))

    def _bound(
        self, plugin: Plugin, written: object, demands: frozenset[str], key: str
    ) -> Iterator[BoundRule]:
        where = f"{key}.settings.{plugin.name}"
        settings: Any = None
        if plugin.settings is not None:
            try:
                settings = read(plugin.settings, written, where)
            except ReadingError as error:
                self.faults.extend(error.faults)
                return
        elif written:
            self.fault(where, "must be left out: the plugin has no settings")
        wanted = _rules_in(demands)
        rules = self.binder.bind(plugin, settings, wanted)
        self._refuse_absent(plugin.name, wanted, rules, key)
        yield from rules

    def _stated(
        self, entry: Mapping[str, Any], required: list[str], key: str
    ) -> tuple[BoundRule, ...]:
        written = entry.get("rules", [])
        before = len(self.faults)
        made = stated_rules(written, f"{key}.rules", self.faults)
        if made and self.registry.find(CLUB_FILE) is not None:
            self.fault(f"{key}.rules", f"cannot be used beside a plugin named {CLUB_FILE!r}")
        wanted = _rules_in(one for one in required if one.startswith(f"{CLUB_FILE}/"))
        rules = tuple(bind_stated(written, made, wanted))
        if len(self.faults) == before:
            self._refuse_absent(CLUB_FILE, wanted, rules, key)
        return rules

    def _refuse_absent(
        self, plugin: str, wanted: frozenset[str], rules: Sequence[BoundRule], key: str
    ) -> None:
        for rule in sorted(wanted - {bound.rule.id for bound in rules}):
            known = ", ".join(bound.rule.id for bound in rules) or "none"
            self.fault(
                f"{key}.required", f"'{plugin}/{rule}' is not in force; rules in force: {known}"
            )


def _rules_in(demands: Iterable[str]) -> frozenset[str]:
    return frozenset(one.partition("/")[2] for one in demands if "/" in one)


def _reason(plugin: Plugin | None) -> str:
    return "not installed" if plugin is None else str(plugin.error)
