"""A drawing of rows alone, under its title."""

from __future__ import annotations

from typing import Any, Final

from drawmark.web.drawings.rows import (
    LEFT,
    MARGIN,
    RIGHT,
    described,
    foot_of,
    placed_rows,
    room_beside,
    scale_of,
)
from drawmark.web.drawings.text import lines_of

_BODY: Final = 13
_LINE: Final = 18
_HEADER: Final = 60
_MOST_LINES: Final = 4
_LEAST_WIDTH: Final = 90


def view_of(drawing: dict[str, Any]) -> dict[str, Any]:
    """Place everything on the page."""
    told = drawing["told"]
    lines = [line for text in told for line in lines_of(text, _BODY, RIGHT - MARGIN, _MOST_LINES)]
    top = _HEADER + len(lines) * _LINE - 12
    room = max(map(room_beside, drawing["rows"]))
    right = max(RIGHT - room, LEFT + _LEAST_WIDTH)
    scale = scale_of(drawing["low"], drawing["high"], LEFT, right)
    rows, bottom = placed_rows(drawing, scale, top)
    return {
        "title": drawing["title"],
        "description": " ".join((*told, *described(drawing["rows"], rows))),
        "lines": [(_HEADER + at * _LINE, line) for at, line in enumerate(lines)],
        "guides": [(one["name"], scale(one["at"])) for one in drawing["guides"]],
        "top": top + 8,
        "bottom": bottom,
        "rows": rows,
        **foot_of("To scale.", bottom, drawing["answer"]),
    }
