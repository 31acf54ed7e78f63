"""Parts of requests that several tables share."""

from __future__ import annotations

from typing import Any, Final

from builders.wire import Body

RECURVE: Final[Body] = {"kind": "recurve"}


def of(convention: str, draw: Body, **more: Any) -> Body:
    """An archer by the draw in a convention."""
    return {"draw_length": draw, "draw_length_convention": convention, **more}


def check(who: Body, length: Body, **more: Any) -> Body:
    """A fit check of an arrow of which only the length is known, from a recurve."""
    return {"archer": who, "bow": RECURVE, "arrow": {"length": length}, **more}
