"""How far each set of a rack may be drawn, beside the draw of the archer who was stated.

Places are draws in the convention of the request [m].
"""

from __future__ import annotations

from typing import Final

from drawmark.answers import kit_labels
from drawmark.answers.common.context import Context
from drawmark.answers.drawing.chart import Drawing, Row, chart_of, row
from drawmark.answers.kit_labels import Label
from drawmark.fitting.draw.growth_of_draw import growth_since
from drawmark.rules.model import Measure

BOW: Final = "The figures hold for the bow that was checked, and for no stronger one."


def drawing(request: kit_labels.Request, context: Context) -> Drawing:
    """Place the longest safe draw of every set."""
    answer = kit_labels.answer(request, context)
    rows = [_row(one) for one in answer["labels"]]
    rows[0]["heading"] = "Longest safe draw of each set"
    draw = request.archer.draw_length
    if draw is not None:
        growth = growth_since(kit_labels.with_rate(request).archer)
        draw, words = draw + growth, "Draw today, grown" if growth else "Draw stated"
        archer = row("draw", words, Measure(draw, up=bool(growth)), at=draw, heading="Archer")
        rows = [archer, *rows]
    drawn = chart_of("How far each set may be drawn", rows, answer, told=[BOW])
    for one in rows:
        for mark in one["marks"] if one["name"] == "set" else ():
            one["behind"] = {"name": "allowed", "low": drawn["low"], "high": mark["at"]}
    if draw is not None:
        drawn["guides"] = [{"name": "draw", "at": float(draw)}]
    return drawn


def _row(label: Label) -> Row:
    if "label" in label:
        return row("set", label["set"], label["label"], at=label["label"].value)
    if "longest_safe_draw_at_most" in label:
        most = label["longest_safe_draw_at_most"]
        return row("doubt", label["set"], most, before="not judged, at most")
    return row("unsafe", label["set"], before="no draw is safe")
