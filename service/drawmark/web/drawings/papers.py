"""Papers for the range: what each says, from the rendered answer."""

from __future__ import annotations

from typing import Any, Final

from markupsafe import Markup

from drawmark.fitting.sources import SOURCES
from drawmark.web.drawings import full_draw
from drawmark.web.drawings.page import filled
from drawmark.web.drawings.rows import made_by
from drawmark.web.drawings.text import figure_text, range_text
from drawmark.web.drawings.verdicts import SIGNS, WORDS
from drawmark.web.wire.render import decoded

_CONVENTIONS: Final = {
    "standard": "standard draw, which is to the pivot point of the grip plus 1 3/4 in",
    "to_pivot": "draw to the pivot point of the grip",
    "to_back": "draw to the back of the bow",
}
_CONTROLS: Final = {
    "settled": "Only for archers whose draw is settled.",
    "clicker": "Only for draws that end at the clicker that was checked.",
    "draw_stop": "Only for bows with the draw stop that was checked.",
}
_ODDS: Final = (
    ("past_back_per_thousand", "Shots in a thousand that end behind the back of the bow"),
    ("off_rest_per_thousand", "Shots in a thousand that come off the rest"),
)


def card_of(tree: dict[str, Any]) -> dict[str, Any]:
    """Say what an archer's card says."""
    answer = _shared(tree["answer"])
    return {
        **answer,
        "drawing": Markup(filled("full_draw.svg", full_draw.view_of(tree), None)),
        "convention": _CONVENTIONS[answer["draw_length_convention"]],
        "figures": _figures(answer),
        "terms": [
            {"term": one["term"], "value": figure_text(one["value"])}
            for one in answer["derivation"]
        ],
        "sources": _sources(answer["derivation"]),
        "growth": _growth(answer),
        "odds_remark": answer.get("odds_remark"),
    }


def labels_of(answer: dict[str, Any]) -> dict[str, Any]:
    """Say what the labels of a rack say."""
    shared = _shared(answer)
    return {
        **shared,
        "convention": _CONVENTIONS[answer["draw_length_convention"]],
        "labels": [_label(one) for one in answer["labels"]],
    }


def evening_of(answer: dict[str, Any]) -> dict[str, Any]:
    """Say who shoots what tonight, and what the others need."""
    shared = _shared(answer)
    return {
        **shared,
        "assignments": [
            {
                **one,
                "word": WORDS[one["verdict"]][0],
                "sign": SIGNS[one["verdict"]],
                "margin": figure_text(one["margin"]),
            }
            for one in answer["assignments"]
        ],
        "unequipped": [{**one, "needs": _need(one)} for one in answer["unequipped"]],
    }


def cuts_of(answer: dict[str, Any]) -> dict[str, Any]:
    """Say what is cut, to what length."""
    shared = _shared(answer)
    sets = [
        {
            **one,
            "reason": one["reason"].replace("`", ""),
            "word": WORDS[one["verdict"]][0] if "verdict" in one else "Not checked",
            "messages": [each["message"] for each in one.get("findings", ())],
        }
        for one in answer["sets"]
    ]
    return {**shared, "sets": sets}


def _shared(answer: dict[str, Any]) -> dict[str, Any]:
    """Decode what is kept encoded, and say what every paper ends with."""
    whole = {name: decoded(part) for name, part in answer.items()}
    applied = ", ".join(f"{one['plugin']} {one['version']}" for one in whole["rules_applied"])
    return {**whole, "made_by": f"{made_by(answer)}. Rules: {applied}"}


def _figures(answer: dict[str, Any]) -> list[tuple[str, str]]:
    named = (
        ("minimum", "Minimum: never draw a shorter arrow"),
        ("minimum_at_least", "Minimum, at least: more may be needed"),
        ("recommended", "Recommended"),
        ("longest_safe_draw", "Longest safe draw of this arrow"),
        ("longest_safe_draw_at_most", "Longest safe draw, at most: less may be safe"),
    )
    told = [(words, figure_text(answer[name])) for name, words in named if name in answer]
    if "window" in answer:
        ends = [answer["window"]["shortest"], answer["window"]["longest"]]
        told.append(("Recommended lengths", range_text(ends)))
    return [*told, *((words, f"{answer[name]:.1f}") for name, words in _ODDS if name in answer)]


def _growth(answer: dict[str, Any]) -> list[str]:
    """Say until when the card holds, where a curve of growth was asked for."""
    if "growth_curve" not in answer:
        return []
    curve = answer["growth_curve"]
    told = [f"Measure the draw again {_within(curve['check_by_month'])}."]
    if "buy_by_month" in curve:
        told.append(f"Have longer arrows {_within(curve['buy_by_month'])}.")
    return told


def _within(months: int) -> str:
    if months == 0:
        return "now"
    return "within a month" if months == 1 else f"within {months} months"


def _sources(terms: list[dict[str, Any]]) -> list[str]:
    """Say once each what the terms rest on."""
    keys = dict.fromkeys(one["source"] for one in terms if "source" in one)
    return [SOURCES[key].text if key in SOURCES else key for key in keys if key != "request"]


def _label(label: dict[str, Any]) -> dict[str, Any]:
    if "label" in label:
        notes = (_CONTROLS.get(label["draw_control"]["counts"], ""), _months(label))
        return {
            "set": label["set"],
            "draw": figure_text(label["label"]),
            "note": " ".join(filter(None, notes)),
        }
    if "longest_safe_draw_at_most" in label:
        most = figure_text(label["longest_safe_draw_at_most"])
        note = f"Not judged. Do not hand out until it is. Never draw past {most}."
    else:
        note = label["reason"]
    return {"set": label["set"], "draw": None, "note": note}


def _months(label: dict[str, Any]) -> str:
    if label.get("growth") == "already_outgrown":
        return "The archer asked about draws too far for it already."
    if label.get("growth") == "growing":
        months = label["safe_until_months"]
        return f"Good for {months} month{'s' * (months != 1)} of the growth asked about."
    return ""


def _need(one: dict[str, Any]) -> str:
    if "would_need" in one:
        return figure_text(one["would_need"])
    if "would_need_at_least" in one:
        return f"at least {figure_text(one['would_need_at_least'])}"
    return ""
