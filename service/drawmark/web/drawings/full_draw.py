"""The arrow at full draw: the whole arrow above, its front end enlarged below, and its rows."""

from __future__ import annotations

from typing import Any, Final

from drawmark.web.drawings.rows import (
    MARGIN,
    RIGHT,
    described,
    foot_of,
    placed_rows,
    scale_of,
)
from drawmark.web.drawings.text import figure_text, lines_of, whose
from drawmark.web.drawings.verdicts import SIGNS, WORDS

_BODY: Final = 13
_LINE: Final = 18
_MOST_LINES: Final = 5
_HEADER: Final = 74
_ARROW_HEIGHT: Final = 176
_FRONT_HEIGHT: Final = 112
_LEGEND: Final = "Lengths along the arrow are to scale. The hatched lengths are too short."
_EDGE: Final = 14
_SIDES: Final = {False: "past the back of the bow", True: "behind the back of the bow"}


def view_of(drawing: dict[str, Any]) -> dict[str, Any]:
    """Place everything on the page."""
    answer, places = drawing["answer"], drawing["places"]
    verdict = answer["verdict"]
    word, advice = WORDS[verdict]
    reasons = _reasons(answer)
    lines = _lines(reasons)
    overview = _HEADER + len(lines) * _LINE
    front = overview + _ARROW_HEIGHT
    right = max(places["tip"], places["draw"])
    whole = scale_of(places["nock"], right, MARGIN + _EDGE, RIGHT - _EDGE)
    near = scale_of(drawing["low"], drawing["high"])
    rows, bottom = placed_rows(drawing, near, front + _FRONT_HEIGHT)
    draw_text = f"{drawing['draw_words']}: {figure_text(drawing['draw_length'])}"
    nock, draw, end = whole(places["nock"]), whole(places["draw"]), whole(places["end"])
    past = f"{figure_text(drawing['past_back'])} {_SIDES[drawing['behind_back']]}"
    return {
        "title": f"{drawing['title']}: {word}",
        "description": " ".join(
            (
                f"{word}. {advice} {draw_text}.",
                f"At this draw the shaft ends {past}.",
                *described(drawing["rows"], rows),
                *reasons,
            )
        ),
        "front_text": f"Enlarged: the shaft ends {past}",
        "verdict": verdict,
        "sign": SIGNS[verdict],
        "word": word,
        "advice": advice,
        "lines": [(_HEADER + 6 + at * _LINE, line) for at, line in enumerate(lines)],
        "overview": overview,
        "front": front,
        "nock": nock,
        "draw": draw,
        "end": end,
        "tip": whole(places["tip"]),
        "pivot": whole(0.0),
        "limb_tip": whole(-0.12),
        "back": whole(places["back"]),
        "draw_middle": round((nock + draw) / 2, 1),
        "arrow_middle": round((nock + end) / 2, 1),
        "draw_text": draw_text,
        "arrow_text": f"Arrow: {figure_text(drawing['arrow_length'])}",
        "near_pivot": near(0.0),
        "near_rest": near(places["rest"]),
        "near_back": near(places["back"]),
        "near_end": near(places["end"]),
        "near_tip": near(places["tip"]),
        "tip_kind": "point" if drawing["exposed_given"] else "point open",
        "rows": rows,
        "depth": bottom - front - 40,
        **foot_of(_LEGEND, bottom, answer),
    }


def _reasons(answer: dict[str, Any]) -> list[str]:
    """Say what made the verdict."""
    verdict = answer["verdict"]
    told = [one["message"] for one in answer["findings"] if one["severity"] == verdict]
    if verdict == "indeterminate":
        told += [
            f"{whose(one)} could not be evaluated: {one['reason']}" for one in answer["unevaluated"]
        ]
    return told


def _lines(reasons: list[str]) -> list[str]:
    if not reasons:
        return []
    first, *others = reasons
    lines = lines_of(first, _BODY, RIGHT - MARGIN, _MOST_LINES)
    if others:
        lines.append(f"Further reasons: {len(others)}.")
    return lines
