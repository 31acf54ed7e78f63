"""Lets items of a column differ in fields that next to no rule looks at.

Without these a club's members, who differ in them, would fall into many times as many columns.
"""

from __future__ import annotations

import math
from dataclasses import fields, replace
from typing import Any, Final

import numpy as np

from drawmark.fitting.columns import MixedError
from drawmark.fitting.model import Archer, Bow, Fitting

WORDS: Final = {("archer", name) for name in ("release", "string_hand", "coach_checked")}
"""The core reads none of them in columns but the last, as a mask."""
LIMITS: Final = {("bow", "maximum_draw")}
"""To the core, a limit that is not given is infinite."""


class Mixed(np.ndarray[Any, Any]):
    """A column of words that differ, or of limits that not all items have."""

    def __array_wrap__(self, array: Any, context: Any = None, return_scalar: bool = False) -> Any:
        """Give what is worked out of it as a plain column."""
        return array[()] if return_scalar else np.asarray(array)

    def item(self, *place: Any) -> Any:
        """Give what one item has: None where it has no limit."""
        found = super().item(*place)
        return None if found == math.inf else found

    def tolist(self) -> Any:
        """Give what each item has."""
        return [None if found == math.inf else found for found in super().tolist()]

    @property
    def kinds(self) -> list[Any]:
        """What each item is in this field: its word, or whether it has no limit."""
        column = np.asarray(self)
        found: list[Any] = (np.isinf(column) if column.dtype == np.float64 else column).tolist()
        return found


def _watching(cls: type, names: list[str]) -> Any:
    """Make the kind of a part that notes looks at fields that differ."""

    def reader(name: str) -> property:
        slot = getattr(cls, name)

        def read(part: Any) -> Any:
            value = slot.__get__(part)
            if not isinstance(value, Mixed):
                return value
            part.looks.append(value)
            return value.item(0)

        return property(read)

    members = {"__slots__": ("looks",), **{name: reader(name) for name in names}}
    return type(f"Watched{cls.__name__}", (cls,), members)


def _names_in(part: str) -> list[str]:
    return [name for head, name in WORDS | LIMITS if head == part]


_KINDS: Final[dict[type, tuple[list[str], Any]]] = {
    cls: (names, _watching(cls, names))
    for cls, names in ((Archer, _names_in("archer")), (Bow, _names_in("bow")))
}


def watch(fitting: Fitting) -> Fitting:
    """Give a fitting whose parts note looks at fields that differ; the same one where none does.

    Who looks sees what the first item has.
    """
    archer, bow = _watched(fitting.archer), _watched(fitting.bow)
    if archer is fitting.archer and bow is fitting.bow:
        return fitting
    return replace(fitting, archer=archer, bow=bow)


def _watched(part: Any) -> Any:
    if part is None:
        return None
    cls = type(part)
    names, kind = _KINDS[cls]
    if not any(isinstance(getattr(part, name), Mixed) for name in names):
        return part
    watched = object.__new__(kind)
    object.__setattr__(watched, "looks", [])
    for field in fields(cls):
        slot = getattr(cls, field.name)
        slot.__set__(watched, slot.__get__(part))
    return watched


def part_by_looks(watched: Fitting) -> None:
    """Raise MixedError where somebody looked at fields that differ: the answers hold for one."""
    parts = (watched.archer, watched.bow)
    looks = {id(field): field.kinds for part in parts for field in getattr(part, "looks", ())}
    if looks:
        places: dict[Any, int] = {}
        items = zip(*looks.values(), strict=True)
        raise MixedError(np.array([places.setdefault(item, len(places)) for item in items]))
