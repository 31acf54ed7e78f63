"""Fields that an operation cannot do without: asked of each request, stated in the document.

A need is a dotted field of the request, or alternatives with bars between them. Where it is
asked of each item of a list it begins with that list: "archers[] archer.draws|archer.arm_span".
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from drawmark.web.problems import ErrorList, pointer

_EACH = "[] "


class Need(NamedTuple):
    """One need: the list whose items are asked, empty for the request, and the ways to meet it."""

    each: str
    ways: tuple[tuple[str, ...], ...]


def read_need(text: str) -> Need:
    """Read a need."""
    each, _, ways = text.rpartition(_EACH)
    return Need(each, tuple(tuple(way.split(".")) for way in ways.split("|")))


def faults_in(request: Any, needs: Iterable[Need]) -> ErrorList:
    """Point at each field that a request lacks."""
    return [
        {"pointer": pointer((*place, *need.ways[0])), "detail": _word(need)}
        for need in needs
        for place, item in _asked(request, need.each)
        if not any(_has(item, way) for way in need.ways)
    ]


def stated(text: str) -> dict[str, Any]:
    """State a need as a JSON schema."""
    need = read_need(text)
    choices = [_nested(way) for way in need.ways]
    schema = choices[0] if len(choices) == 1 else {"anyOf": choices}
    return of_each(need.each, schema) if need.each else schema


def of_each(name: str, schema: dict[str, Any]) -> dict[str, Any]:
    """State what each item of a list must fit."""
    return {"properties": {name: {"items": schema}}}


def _asked(request: Any, each: str) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    if not each:
        yield (), request
        return
    for place, item in enumerate(getattr(request, each)):
        yield (each, place), item


def _word(need: Need) -> str:
    others = " or ".join(".".join(way) for way in need.ways[1:])
    return "needed" + (f": this, or {others}" if others else "")


def _has(value: Any, way: tuple[str, ...]) -> bool:
    for step in way:
        value = getattr(value, step)
        if value is None:
            return False
    return True


def _nested(path: tuple[str, ...]) -> dict[str, Any]:
    inner: dict[str, Any] = {"type": "object", "required": [path[0]]}
    if len(path) > 1:
        inner["properties"] = {path[0]: _nested(path[1:])}
    return inner
