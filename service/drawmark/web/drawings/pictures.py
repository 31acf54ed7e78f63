"""Which operations are drawn, and how: what answers them, and what writes that answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, NamedTuple

from drawmark.answers.drawing import (
    cut_plan_over_length,
    rack_labels,
    spine_over_length,
    stock_waste,
)
from drawmark.answers.drawing import full_draw as full_draw_answer
from drawmark.web.drawings import chart, full_draw, papers
from drawmark.web.drawings.page import policy_of, style_of, written
from drawmark.web.wire.accept import HTML, SVG
from drawmark.web.wire.operation import Answer


class Picture(NamedTuple):
    """How an operation is drawn, or set on a page to print."""

    template: str
    view_of: Callable[[dict[str, Any]], dict[str, Any]]
    answer: Answer | None = None
    """What answers it, where that is not the operation's own."""
    style: tuple[str, ...] = ("drawing.css",)

    def write(self, tree: dict[str, Any]) -> bytes:
        """Write a rendered answer."""
        return written(self.template, self.view_of(tree), style_of(*self.style))

    @property
    def policy(self) -> str:
        """What a browser lets it do."""
        return policy_of(*self.style)


_PAPER: Final = ("drawing.css", "paper.css")
PICTURES: Final[dict[str, dict[str, Picture]]] = {
    "fit-check": {
        SVG: Picture("full_draw.svg", full_draw.view_of, full_draw_answer.drawing),
        HTML: Picture("card.html", papers.card_of, full_draw_answer.card, _PAPER),
    },
    "spine": {SVG: Picture("chart.svg", chart.view_of, spine_over_length.drawing)},
    "cut-plan": {SVG: Picture("chart.svg", chart.view_of, cut_plan_over_length.drawing)},
    "kit/lengths": {SVG: Picture("chart.svg", chart.view_of, stock_waste.drawing)},
    "kit/labels": {
        SVG: Picture("chart.svg", chart.view_of, rack_labels.drawing),
        HTML: Picture("labels.html", papers.labels_of, style=_PAPER),
    },
    "kit/assignments": {HTML: Picture("evening.html", papers.evening_of, style=_PAPER)},
    "order": {HTML: Picture("cuts.html", papers.cuts_of, style=_PAPER)},
}
"""By path and media type."""
