"""Fields that an operation needs: checked in each request, stated in the document."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from drawmark.rules.field_paths import Need, parse_need
from drawmark.web.wire.problems import ErrorList, pointer


def faults_in(request: Any, needs: Iterable[Need]) -> ErrorList:
    """Point at each field that a request lacks."""
    return [
        {"pointer": pointer((*place, *need.alternatives[0].names)), "detail": _detail(need)}
        for need in needs
        for place, item in _asked(request, need.each)
        if not _is_met(need, item)
    ]


def stated(text: str) -> dict[str, Any]:
    """State a need as a JSON schema."""
    need = parse_need(text)
    choices = [_nested(path.names) for path in need.alternatives]
    schema = choices[0] if len(choices) == 1 else {"anyOf": choices}
    return of_each(need.each, schema) if need.each else schema


def of_each(name: str, schema: dict[str, Any]) -> dict[str, Any]:
    """State what each item of a list must fit."""
    return {"properties": {name: {"items": schema}}}


def _asked(request: Any, each: str) -> list[tuple[tuple[str | int, ...], Any]]:
    if not each:
        return [((), request)]
    return [((each, place), item) for place, item in enumerate(getattr(request, each))]


def _detail(need: Need) -> str:
    others = " or ".join(path.dotted for path in need.alternatives[1:])
    return f"needed, unless {others} is given" if others else "needed"


def _is_met(need: Need, item: Any) -> bool:
    for path in need.alternatives:
        try:
            if path.read(item) is not None:
                return True
        except AttributeError:
            continue
    return False


def _nested(path: tuple[str, ...]) -> dict[str, Any]:
    inner: dict[str, Any] = {"type": "object", "required": [path[0]]}
    if len(path) > 1:
        inner["properties"] = {path[0]: _nested(path[1:])}
    return inner
