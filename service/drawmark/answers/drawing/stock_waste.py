"""What each number of stock lengths would waste. Places are lengths [m]."""

from __future__ import annotations

from drawmark.answers import kit_lengths
from drawmark.answers.common.context import Context
from drawmark.answers.drawing.chart import Drawing, Row, chart_of, row
from drawmark.answers.kit_lengths import WasteOfLengths


def drawing(request: kit_lengths.Request, context: Context) -> Drawing:
    """Place the waste of every number of lengths."""
    answer = kit_lengths.answer(request, context)
    chosen = len(answer["lengths"])
    rows = [_row(one, chosen) for one in answer["curve"]]
    rows[0]["heading"] = "Length beyond what is recommended, over all arrows"
    drawn = chart_of(
        "What fewer lengths waste",
        rows,
        answer,
        told=["More lengths to stock waste less. The chosen number is marked."],
    )
    drawn["low"] = 0.0
    return drawn


def _row(one: WasteOfLengths, chosen: int) -> Row:
    number = one["lengths"]
    words = f"{number} length" if number == 1 else f"{number} lengths"
    if "waste" not in one:
        return row("waste", words, before="cannot serve everyone")
    waste = one["waste"]
    drawn = row("waste", words, waste, band=(0.0, float(waste.value)))
    if number == chosen:
        drawn["marks"] = [{"name": "chosen", "at": float(waste.value)}]
        drawn["after"] = "chosen"
    return drawn
