"""One situation of a season: what is sent, what a coach says and why, what the answer must be."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Final

from builders.wire import Body

FINEST: Final = {
    "in": 0.0015,
    "mm": 0.02,
    "cm": 0.002,
    "gr": 0.02,
    "g": 0.002,
    "lbf": 0.02,
    "N": 0.1,
}
"""How far a printed figure may lie from one worked out by hand: its last digit, rounded safely."""


class Absent:
    """What is not in the answer."""

    def __repr__(self) -> str:
        return "nothing"


ABSENT: Final = Absent()


@dataclass(frozen=True)
class OneOf:
    """Any of several values."""

    values: tuple[Any, ...]


@dataclass(frozen=True)
class Between:
    """A number, or a quantity in the unit, from low to high."""

    low: float
    high: float
    unit: str | None = None


def one_of(*values: Any) -> OneOf:
    return OneOf(values)


@dataclass(frozen=True, kw_only=True)
class Situation:
    """A row of the table.

    A key of `gives` is a way into the answer: names, places in a list, or `member=value` for the
    first item of a list that has it.
    """

    coach: str
    asks: str
    sends: Body
    gives: dict[str, Any]
    status: int = 200
    says: tuple[str, ...] = field(default=())
    never: tuple[str, ...] = field(default=())

    def faults_of(self, status: int, answer: Any) -> Iterator[str]:
        """Say where an answer is not what it must be."""
        if status != self.status:
            yield f"status {status}, not {self.status}: {json.dumps(answer)[:400]}"
            return
        for way, wanted in self.gives.items():
            found = find(answer, way)
            if not fits(found, wanted):
                yield f"{way}: {found!r}, not {wanted!r}"
        text = json.dumps(answer, ensure_ascii=False).lower()
        yield from (f"does not say {words!r}" for words in self.says if words.lower() not in text)
        yield from (f"says {words!r}" for words in self.never if words.lower() in text)


def find(tree: Any, way: str) -> Any:
    for step in way.split("/"):
        name, equals, value = step.partition("=")
        if isinstance(tree, list) and equals:
            tree = next((item for item in tree if str(item.get(name)) == value), ABSENT)
        elif isinstance(tree, list):
            tree = tree[int(step)] if -len(tree) <= int(step) < len(tree) else ABSENT
        elif isinstance(tree, dict):
            tree = tree.get(step, ABSENT)
        if tree is ABSENT:
            return ABSENT
    return tree


def fits(found: Any, wanted: Any) -> bool:
    if isinstance(wanted, OneOf):
        return any(fits(found, one) for one in wanted.values)
    if isinstance(wanted, Between):
        if wanted.unit is not None:
            if not isinstance(found, dict) or found.get("unit") != wanted.unit:
                return False
            found = found["value"]
        return isinstance(found, int | float) and wanted.low <= found <= wanted.high
    if isinstance(wanted, dict) and wanted.keys() == {"value", "unit"}:
        give = FINEST.get(wanted["unit"], 0.0)
        return fits(found, Between(wanted["value"] - give, wanted["value"] + give, wanted["unit"]))
    if isinstance(wanted, float):
        return fits(found, Between(wanted - 0.01, wanted + 0.01))
    return bool(found == wanted)
