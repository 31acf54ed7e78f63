"""Fields that an operation needs, checked in each request."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from drawmark.rules.field_paths import Need
from drawmark.web.wire.problems import ErrorList, pointer


def faults_in(request: Any, needs: Iterable[Need]) -> ErrorList:
    """Point at each field that a request lacks."""
    return [
        {"pointer": pointer((*place, *need.alternatives[0].names)), "detail": _detail(need)}
        for need in needs
        for place, item in _asked(request, need.each)
        if not _is_met(need, item)
    ]


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
