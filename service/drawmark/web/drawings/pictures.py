"""Which operations are drawn, and how: what answers them, and what writes that answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, NamedTuple

from drawmark.answers.drawing import full_draw as full_draw_answer
from drawmark.web.drawings import full_draw
from drawmark.web.drawings.page import policy_of, written
from drawmark.web.wire.accept import SVG
from drawmark.web.wire.operation import Answer


class Picture(NamedTuple):
    """How an operation is drawn."""

    answer: Answer
    view_of: Callable[[dict[str, Any]], dict[str, Any]]
    template: str
    style: str = "drawing.css"

    def write(self, tree: dict[str, Any]) -> bytes:
        """Write a rendered answer."""
        return written(self.template, self.style, self.view_of(tree))

    @property
    def policy(self) -> str:
        """What a browser lets it do."""
        return policy_of(self.style)


PICTURES: Final[dict[str, dict[str, Picture]]] = {
    "fit-check": {
        SVG: Picture(full_draw_answer.drawing, full_draw.view_of, "full_draw.svg"),
    },
}
"""By path and media type."""
