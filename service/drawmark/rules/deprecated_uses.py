"""Which older names of the plugin API the code of a plugin uses."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from types import CodeType, FunctionType

from drawmark.fitting.facts import RENAMED
from drawmark.rules.model import Rule


def deprecated_uses(package: str, rules: Iterable[Rule]) -> tuple[str, ...]:
    """Say what a loaded package and its rules use that is on its way out, without running it."""
    used = {name for code in _codes_of(package) for name in _names_in(code)}
    for rule in rules:
        for need in (*rule.needs, rule.concerns or ""):
            used.update(need.replace("|", ".").split("."))
    return tuple(
        f"It uses facts.{old}. Use facts.{new} instead: the older name goes with version 2 of the "
        "plugin API."
        for old, new in RENAMED.items()
        if old in used
    )


def _codes_of(package: str) -> Iterator[CodeType]:
    """Give the code of all functions and methods that a package defines."""
    for name, module in list(sys.modules.items()):
        if name.partition(".")[0] != package:
            continue
        for value in list(vars(module).values()):
            for one in vars(value).values() if isinstance(value, type) else (value,):
                if isinstance(one, staticmethod | classmethod):
                    one = one.__func__
                if isinstance(one, FunctionType) and str(one.__module__).startswith(package):
                    yield one.__code__


def _names_in(code: CodeType) -> Iterator[str]:
    yield from code.co_names
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            yield from _names_in(constant)
