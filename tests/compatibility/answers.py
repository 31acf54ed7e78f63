"""What of an earlier answer a later one lacks: members, types, units, and how strict it was."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from typing import Any, Final

VERDICTS: Final = ("pass", "caution", "indeterminate", "stop")


def differences(kind: str, old: str, new: str) -> Iterator[tuple[str, str]]:
    """Give place and change of all that an answer of some media type no longer says as it did."""
    before, after = (_read(kind, text) for text in (old, new))
    was, now = (_kinds(tree) for tree in (before, after))
    for place, kinds in was.items():
        if place not in now:
            # What was in it is gone with it.
            if not any(place.startswith(above) for above in was.keys() - now.keys() - {place}):
                yield place, "gone"
            continue
        for lost in sorted(kinds - now[place]):
            yield place, f"is no {lost} any more"
    yield from _verdicts(before, after, "")


def _read(kind: str, text: str) -> Any:
    if kind == "application/json":
        return json.loads(text)
    if kind == "application/x-ndjson":
        return [json.loads(line) for line in text.splitlines()]
    if kind == "text/csv":
        return dict.fromkeys(next(csv.reader(io.StringIO(text.removeprefix("\ufeff")))), "")
    return {line.split()[2]: line.split()[3] for line in text.splitlines() if "# TYPE" in line}


def _kinds(tree: Any, place: str = "") -> dict[str, set[str]]:
    """Name the kinds of value in each place; the items of a list have one together."""
    found: dict[str, set[str]] = {place: {_kind(tree)}}
    inner = [(f"{place}[]", one) for one in tree] if isinstance(tree, list) else []
    if isinstance(tree, dict) and found[place] == {"object"}:
        inner = [(f"{place}/{name}", one) for name, one in tree.items()]
    for below, one in inner:
        for at, kinds in _kinds(one, below).items():
            found.setdefault(at, set()).update(kinds)
    return found


def _kind(value: Any) -> str:
    if isinstance(value, dict):
        return f"quantity in {value['unit']}" if value.keys() == {"value", "unit"} else "object"
    if isinstance(value, bool) or not isinstance(value, int | float):
        return type(value).__name__
    return "number"


def _verdicts(old: Any, new: Any, place: str) -> Iterator[tuple[str, str]]:
    if isinstance(old, dict) and isinstance(new, dict):
        for name in old.keys() & new.keys():
            yield from _verdicts(old[name], new[name], f"{place}/{name}")
    elif isinstance(old, list) and isinstance(new, list):
        for before, after in zip(old, new, strict=False):
            yield from _verdicts(before, after, f"{place}[]")
    elif place.endswith("/verdict") and old != new:
        stricter = VERDICTS.index(new) > VERDICTS.index(old)
        yield place, f"{old} became {new}{'' if stricter else ', which is less strict'}"
