"""The notation of needed fields, one for rules, operations and the document.

A need is a dotted path, or alternatives with bars between them, any one of which meets it:
"archer.draws|archer.draw_length". With a word, a path asks for a value: "bow.kind=compound". What
is asked of each item of a list begins with that list: "sets[] arrow.length".
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from operator import attrgetter
from typing import Any, NamedTuple

_EACH = "[] "


@dataclass(frozen=True)
class FieldPath:
    """One path: its names, and the word that the field must have, if any."""

    names: tuple[str, ...]
    word: str = ""

    @property
    def dotted(self) -> str:
        """The path without its word."""
        return ".".join(self.names)

    @cached_property
    def read(self) -> Callable[[Any], Any]:
        """Reads the field; AttributeError where a part on the way is None."""
        return attrgetter(self.dotted)


class Need(NamedTuple):
    """One need: the list whose items are asked, empty for the whole request, and alternatives."""

    each: str
    alternatives: tuple[FieldPath, ...]


def parse_need(text: str) -> Need:
    """Parse a need; ValueError where it is not written in this notation."""
    each, _, paths = text.rpartition(_EACH)
    alternatives = tuple(_parse_path(path) for path in paths.split("|"))
    return Need(each, alternatives)


def _parse_path(text: str) -> FieldPath:
    path, sign, word = text.partition("=")
    names = tuple(path.split("."))
    if not all(name.isidentifier() for name in names) or (sign and not word):
        raise ValueError(f"{text!r} is not a dotted path")
    return FieldPath(names, word)
