"""The arrow at full draw: where its end lies beside hand, rest, back of the bow and minimum.

Places are distances from the pivot point, positive toward the target [m]. The end of an arrow lies
its length ahead of the nock, which is drawn back from the pivot point by the draw.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from msgspec.structs import replace

from drawmark.answers import fit_check
from drawmark.answers.common.common_response import engine_response, unevaluated_response
from drawmark.answers.common.context import Context
from drawmark.answers.common.findings import deciding_response
from drawmark.answers.common.minimum import minimum_length_of, shortest_safe
from drawmark.answers.common.recommended_window import window_in
from drawmark.answers.drawing.chart import Drawing, Row, places_in, row, span_of
from drawmark.fitting import limits
from drawmark.fitting.draw.control import exposed_of
from drawmark.fitting.draw.draw_length import offset_of
from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Bow
from drawmark.rules.model import Measure
from drawmark.rules.outcome import Outcome

_HAND: Final = 0.02
"""Room drawn behind the pivot point, for the hand [m]."""
_POINT: Final = 0.02
"""Drawn length of a point whose exposed length is not known [m]."""
_CONVENTIONS: Final = {
    "standard": "Draw, standard",
    "to_pivot": "Draw to the pivot point",
    "to_back": "Draw to the back of the bow",
}


class FullDraw(Drawing):
    """The arrow at full draw: the whole of it, and rows of its front end."""

    places: dict[str, float]
    draw_words: str
    draw_length: Measure
    arrow_length: Measure
    past_back: Measure
    """How far the shaft ends from the back of the bow, on whichever side."""
    behind_back: bool
    exposed_given: bool


def drawing(request: fit_check.Request, context: Context) -> FullDraw:
    """Place everything that decides whether the arrow is long enough."""
    outcome = fit_check.outcome_of(request, context)
    told = {
        "verdict": outcome.verdict,
        "findings": deciding_response(outcome),
        "unevaluated": unevaluated_response(outcome.unevaluated),
        "ruleset": context.ruleset.name,
        "engine": engine_response(context),
    }
    return _place(request, outcome, told)


def card(request: fit_check.Request, context: Context) -> FullDraw:
    """Give the same beside the whole answer."""
    context = replace(context, detail="full")
    outcome = fit_check.outcome_of(request, context)
    return _place(request, outcome, fit_check.answer_with(request, context, outcome))


def _place(request: fit_check.Request, outcome: Outcome, answer: Mapping[str, Any]) -> FullDraw:
    facts, bow, arrow = outcome.facts, request.bow, request.arrow
    draw, length = float(facts.draw), float(arrow.length or 0.0)
    end, back = length - draw, float(facts.back)
    convention = request.archer.draw_length_convention or "standard"
    offset = float(offset_of(convention, bow))
    exposed = exposed_of(arrow)
    tip = end + float(_POINT if exposed is None else exposed)
    rows = [*_bow_rows(facts, bow), *_arrow_rows(request, outcome, end)]
    low, high = span_of((-_HAND, tip, *places_in(rows)))
    too_short = next(one for one in rows if one["name"] == "minimum")
    too_short["behind"] = {"name": "too-short", "low": low, "high": too_short["marks"][0]["at"]}
    return {
        "title": "The arrow at full draw",
        "low": low,
        "high": high,
        "rows": rows,
        "guides": [],
        "told": [],
        "answer": answer,
        "places": {
            "nock": -draw,
            "rest": float(facts.rest),
            "back": back,
            "draw": offset,
            "end": end,
            "tip": tip,
        },
        "draw_words": _words_of_draw(facts, convention),
        "draw_length": Measure(draw + offset),
        "arrow_length": Measure(length),
        "past_back": Measure(abs(end - back)),
        "behind_back": bool(limits.shorter(end, back)),
        "exposed_given": exposed is not None,
    }


def _words_of_draw(facts: Facts, convention: str) -> str:
    words = "Draw from the arm span" if facts.estimated else _CONVENTIONS[convention]
    return f"{words}, grown since measured" if facts.growth_since_measured else words


def _bow_rows(facts: Facts, bow: Bow) -> list[Row]:
    rest, back = float(facts.rest), float(facts.back)
    rows = [
        row(
            "pivot",
            "Pivot point",
            at=0.0,
            heading="Bow: distance from the pivot point of the grip",
        ),
        row(
            "rest",
            "Rest" if facts.rest_given else "Rest (assumed)",
            Measure(rest),
            at=rest,
        ),
        row(
            "back",
            "Back of the bow" if facts.back_given else "Back (assumed)",
            Measure(back),
            at=back,
        ),
    ]
    blade = bow.clicker_range
    if blade is not None:
        near, far = float(blade.near), float(blade.far)
        rows.append(row("clicker", "Clicker range", Measure(near), Measure(far), band=(near, far)))
    return rows


def _arrow_rows(request: fit_check.Request, outcome: Outcome, end: float) -> list[Row]:
    facts, bow, arrow = outcome.facts, request.bow, request.arrow
    draw = float(facts.draw)
    minimum = float(shortest_safe(minimum_length_of(outcome), facts, bow, arrow))
    window = window_in(outcome, bow, arrow, request.saw_increment)
    further = _further_draw(facts)
    rows = [
        row(
            "end",
            "This arrow",
            Measure(end + draw),
            at=end,
            heading="Arrow: length from the bottom of the nock slot",
        ),
        row(
            "longest-draw",
            "At longest draw",
            Measure(further),
            band=(end - further, end),
            before="back by",
        ),
        row(
            "minimum",
            "Minimum" if outcome.determinate else "Minimum, at least",
            Measure(minimum, up=True),
            at=minimum - draw,
        ),
    ]
    if window.figure is None:
        return rows
    return [
        *rows,
        row(
            "recommended",
            "Recommended",
            Measure(window.figure, up=True),
            at=window.figure - draw,
            band=(window.shortest - draw, window.longest - draw),
        ),
    ]


def _further_draw(facts: Facts) -> float:
    """Give how much further than usual the longest expected draw goes."""
    further = float(facts.allowance)
    if facts.estimated:
        further += limits.ARM_SPAN_MARGIN
    if facts.control in ("none", "settled"):
        further += float(facts.growth)
    return further
