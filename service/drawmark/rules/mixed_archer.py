"""Lets items of a column differ in words of the archer that next to no rule looks at.

Without these a club's members, who differ in them, would fall into many times as many columns.
"""

from __future__ import annotations

from dataclasses import fields
from typing import Any, Final

import numpy as np
from msgspec.structs import replace

from drawmark.fitting.columns import MixedError
from drawmark.fitting.model import Archer
from drawmark.rules.model import Case

MAY_DIFFER: Final = ("release", "string_hand", "coach_checked")
"""The core reads none of them in columns but the last, as a mask."""
_SLOTS: Final = [getattr(Archer, field.name) for field in fields(Archer)]


def _reader(name: str) -> Any:
    slot = getattr(Archer, name)

    def read(archer: MixedArcher) -> Any:
        word = slot.__get__(archer)
        if not isinstance(word, np.ndarray):
            return word
        archer.read.append(word)
        return word.item(0)

    return property(read)


class MixedArcher(Archer):
    """What a plugin sees of such archers: the first one's words, and each look is noted."""

    __slots__ = ("read",)
    read: list[Any]

    release = _reader("release")
    string_hand = _reader("string_hand")
    coach_checked = _reader("coach_checked")


def watch_words(case: Case) -> Case:
    """Give the case with an archer who notes looks; the same one where no word differs."""
    archer = case.archer
    if not any(isinstance(getattr(archer, name), np.ndarray) for name in MAY_DIFFER):
        return case
    watched = object.__new__(MixedArcher)
    object.__setattr__(watched, "read", [])
    for slot in _SLOTS:
        slot.__set__(watched, slot.__get__(archer))
    return replace(case, archer=watched)


def part_by_words(case: Case) -> None:
    """Raise MixedError where somebody looked at a word that differs: the answer holds for one."""
    if isinstance(case.archer, MixedArcher) and case.archer.read:
        word = case.archer.read[0]
        raise MixedError(word == word[0])
