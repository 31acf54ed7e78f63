"""Rows of a drawing on the page: a scale, and one line of the page for each row."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, Final, NamedTuple

from drawmark.web.drawings.text import BOLD, figure_text, range_text, shortened, whose, width_of

WIDTH: Final = 480
MARGIN: Final = 16
LEFT: Final = 158
RIGHT: Final = WIDTH - MARGIN
SIZE: Final = 12.5
"""Size of the text of a row."""
_HEIGHT: Final = 25
_HEADING: Final = 30
_GAP: Final = 9
_FOOT: Final = 48
_FOOT_SIZE: Final = 10.5
_FOOT_LINE: Final = 15
_LABEL: Final = LEFT - MARGIN - _GAP

Scale = Callable[[float], float]


class PlacedRow(NamedTuple):
    """A row on its own line of the page."""

    y: float
    heading: str | None
    label: str
    text: str
    text_x: float
    anchor: str
    marks: list[tuple[str, float]]
    bands: list[tuple[str, float, float]]


def scale_of(low: float, high: float, left: float = LEFT, right: float = RIGHT) -> Scale:
    """Give what places a figure between two edges."""
    factor = (right - left) / (high - low)
    return lambda at: round(left + (at - low) * factor, 2)


def placed_rows(drawing: dict[str, Any], scale: Scale, top: float) -> tuple[list[PlacedRow], float]:
    """Place every row on a line of its own, so that no two texts meet; and where they end."""
    rows = []
    for one in drawing["rows"]:
        heading = one.get("heading")
        if heading is not None:
            top += _HEADING
        text = row_text(one)
        marks = [(each["name"], scale(each["at"])) for each in one["marks"]]
        bands = [_placed_band(each, scale) for each in one["bands"]]
        edges = [x for _, x in marks]
        for _, x, width in bands:
            edges += (x, x + width)
        if "behind" in one:
            bands.append(_placed_band(one["behind"], scale))
        anchor, text_x = _beside(min(edges, default=LEFT), max(edges, default=LEFT), text)
        label = shortened(label_of(one), SIZE, _LABEL)
        y = top + _HEIGHT / 2
        rows.append(PlacedRow(y, heading, label, text, text_x, anchor, marks, bands))
        top += _HEIGHT
    return rows, top


def room_beside(one: dict[str, Any]) -> float:
    """Give the room that the figures of a row take beside its marks."""
    if not (one["marks"] or one["bands"]):
        return 0.0
    return width_of(row_text(one), SIZE * BOLD) + _GAP


def _placed_band(band: dict[str, Any], scale: Scale) -> tuple[str, float, float]:
    low, high = scale(band["low"]), scale(band["high"])
    return band["name"], low, round(high - low, 2)


def described(given: list[dict[str, Any]], rows: list[PlacedRow]) -> Iterator[str]:
    """Say every row in words, for those who hear the drawing."""
    for one, row in zip(given, rows, strict=True):
        if row.text:
            yield f"{label_of(one)}: {row.text}."


def made_by(answer: dict[str, Any]) -> str:
    """Name the service, and the rule set where rules were asked."""
    ruleset = f", rule set {answer['ruleset']}" if "ruleset" in answer else ""
    return f"Drawmark {answer['engine']['version']}{ruleset}"


def foot_of(legend: str, bottom: float, answer: dict[str, Any]) -> dict[str, Any]:
    """End a drawing: which rules it lacks, how to read it, and what made it."""
    lacking = ", ".join(map(whose, answer.get("unevaluated", ())))
    if lacking:
        lacking = shortened(f"Could not be evaluated: {lacking}.", _FOOT_SIZE, RIGHT - MARGIN)
    return {
        "height": bottom + _FOOT + (_FOOT_LINE if lacking else 0),
        "lacking": lacking,
        "legend": legend,
        "made_by": shortened(made_by(answer), _FOOT_SIZE, RIGHT - MARGIN),
    }


def label_of(one: dict[str, Any]) -> str:
    """Write the words of a row, behind the figure that it is named by."""
    if "named" in one:
        return f"{figure_text(one['named'])} {one['words']}"
    words: str = one["words"]
    return words


def row_text(one: dict[str, Any]) -> str:
    """Write the figures of a row with the words around them."""
    text = range_text(one["figures"])
    return f"{one.get('before', '')} {text} {one.get('after', '')}".strip()


def _beside(first: float, last: float, text: str) -> tuple[str, float]:
    """Put a row's figures beside its marks where there is room, else upon them."""
    width = width_of(text, SIZE * BOLD)
    if last + _GAP + width <= RIGHT:
        return "start", last + _GAP
    if first - _GAP - width >= LEFT:
        return "end", first - _GAP
    return "start", min(max((first + last - width) / 2, LEFT), RIGHT - width)
