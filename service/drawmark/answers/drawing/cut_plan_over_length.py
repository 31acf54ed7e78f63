"""What a cut plan knows of each arrow length: rounds shot, the ideal length, and where to stop."""

from __future__ import annotations

from typing import Final

from drawmark.answers import cut_plan
from drawmark.answers.common.context import Context
from drawmark.answers.cut_plan import CutPlanAnswer
from drawmark.answers.drawing.chart import Drawing, Row, chart_of, row
from drawmark.fitting.cutting.offsets import Shots
from drawmark.rules.model import Measure

_TITLES: Final = {
    "cut": "Cut, then shoot again",
    "shoot_again": "Shoot again before any cut",
    "stop_here": "Stop here: do not cut",
    "already_too_stiff": "Already too stiff: do not cut",
    "at_the_floor": "At the shortest length: do not cut",
    "indeterminate": "Not judged: do not cut",
}


def drawing(request: cut_plan.Request, context: Context) -> Drawing:
    """Place rounds, ideal length, window, minimum and every cut."""
    answer = cut_plan.answer(request, context)
    rows = [*_cut_rows(answer), *_limit_rows(answer)]
    rows += [_round_row(number, one) for number, one in enumerate(request.shots, 1)]
    if request.shots:
        rows[-len(request.shots)]["heading"] = "Rounds shot: on which side the bare shafts landed"
    told = [answer["reason"]]
    if "ideal_length" in answer:
        told.append("The shots put the ideal length in its bar, nine times in ten.")
    drawn = chart_of(_TITLES[answer["decision"]], rows, answer, told=told)
    for one in rows:
        if one["name"] == "minimum":
            one["behind"] = {
                "name": "too-short",
                "low": drawn["low"],
                "high": one["marks"][0]["at"],
            }
    return drawn


def _cut_rows(answer: CutPlanAnswer) -> list[Row]:
    present = answer["present"]["length"]
    rows = [
        row(
            "present",
            "As it is",
            present,
            at=present.value,
            heading="Arrow length from the bottom of the nock slot",
        )
    ]
    for number, step in enumerate(answer["steps"], 1):
        length = step["length"]
        rows.append(row("step", f"After cut {number}", length, at=length.value))
    if "blocked_at" in answer:
        length = answer["blocked_at"]["length"]
        rows.append(row("blocked", "Do not shoot at", length, at=length.value))
    return rows


def _limit_rows(answer: CutPlanAnswer) -> list[Row]:
    rows = []
    if "ideal_length" in answer:
        ideal = answer["ideal_length"]
        low, middle, high = ideal["low"], ideal["estimate"], ideal["high"]
        band = float(low.value), float(high.value)
        rows.append(row("ideal", "Ideal", middle, at=middle.value, band=band, before="about"))
    if "recommended" in answer and "window" in answer:
        window, figure = answer["window"], answer["recommended"]
        band = float(window["shortest"].value), float(window["longest"].value)
        rows.append(row("recommended", "Recommended", figure, at=figure.value, band=band))
    sure = "minimum" in answer
    minimum = answer["minimum"] if sure else answer["minimum_at_least"]
    words = "Minimum" if sure else "Minimum, at least"
    return [*rows, row("minimum", words, minimum, at=minimum.value)]


def _round_row(number: int, one: Shots) -> Row:
    words, side = f"Round {number}", one.side
    if one.offset is None:
        return row("round", words, at=one.length, before=side)
    if side is None:
        side = "weak" if one.offset >= 0 else "stiff"
    return row("round", words, Measure(abs(one.offset)), at=one.length, after=side)
