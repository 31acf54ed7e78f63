"""Fields that an operation cannot do without: asked of each request, stated in the document.

A need is a dotted field of the request, or alternatives with bars between them. Where it is
asked of each item of a list it begins with that list: "archers[] archer.draws|archer.arm_span".
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from operator import attrgetter
from typing import Any, NamedTuple

from drawmark.web.wire.problems import ErrorList, pointer

_EACH = "[] "


class Need(NamedTuple):
    """One need: the list whose items are asked, empty for the request, and the ways to meet it."""

    each: str
    ways: tuple[tuple[str, ...], ...]
    readers: tuple[Callable[[Any], Any], ...]


def read_need(text: str) -> Need:
    """Read a need."""
    each, _, ways = text.rpartition(_EACH)
    paths = ways.split("|")
    return Need(
        each, tuple(tuple(path.split(".")) for path in paths), tuple(map(attrgetter, paths))
    )


def faults_in(request: Any, needs: Iterable[Need]) -> ErrorList:
    """Point at each field that a request lacks."""
    return [
        {"pointer": pointer((*place, *need.ways[0])), "detail": _word(need)}
        for need in needs
        if need.each or not _has_any(request, need.readers)
        for place, item in _asked(request, need.each)
        if not _has_any(item, need.readers)
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


def _has_any(item: Any, readers: Iterable[Callable[[Any], Any]]) -> bool:
    for read in readers:
        try:
            if read(item) is not None:
                return True
        except AttributeError:
            continue  # a part on the way to the field was not given
    return False


def _nested(path: tuple[str, ...]) -> dict[str, Any]:
    inner: dict[str, Any] = {"type": "object", "required": [path[0]]}
    if len(path) > 1:
        inner["properties"] = {path[0]: _nested(path[1:])}
    return inner
