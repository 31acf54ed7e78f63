"""Draws that vary, measured a few times or often.

V allows for the spread: t(0.99865, 3 + n - 1) x sqrt((3 s0^2 + (n - 1) s^2) / (3 + n - 1)) x
sqrt(1 + 1/n), s0 = base / t(0.99865, 3), never below the base (25.4 mm where nothing controls the
draw, 10 mm once it has settled) and never below what reaches the longest draw seen. For s = 10 mm
and base 25.4 mm it is 44.9, 38.6, 37.3, 33.9 and 31.6 mm for n = 2, 5, 6, 12 and 30 (derived,
scipy.stats). The draws are 711.2 mm, 28 in, so the minimum is 711.2 + V, and 736.6 mm where V is
the base.
"""

from __future__ import annotations

from typing import Any, Final

from builders.wire import Body, q
from season.parts import of
from season.situation import Between, Situation, one_of

BOW: Final[Body] = {"kind": "recurve", "rest_position": q(0)}
"""The rest stands at the pivot, so that the back of the bow decides."""


def varying(deviation: float, count: int, **more: Any) -> Body:
    return of(
        "standard",
        q(711.2, "mm"),
        draw_variation=q(deviation, "mm"),
        draw_count=count,
        **more,
    )


def drawn(*millimetres: float, **more: Any) -> Body:
    draws = [q(round(711.2 + one, 3), "mm") for one in millimetres]
    return {"draws": draws, "draw_length_convention": "standard", **more}


def least(who: Body) -> dict[str, Any]:
    return {"asks": "minimum-length", "sends": {"archer": who, "bow": BOW}}


def allowing(millimetres: float) -> dict[str, Any]:
    """A minimum of 711.2 mm and an allowance with one printed decimal."""
    low = 711.2 + millimetres - 0.05
    return {"minimum": Between(low, low + 0.11, "mm")}


# Two of each row lie so far out that the deviation is 10 mm: 2 x 14.142^2 / 4, 2 x 15.811^2 / 5
FIVE: Final = (-14.142, 0, 0, 0, 14.142)
SIX: Final = (-15.811, 0, 0, 0, 0, 15.811)

SITUATIONS: Final = {
    "one draw, measured once": Situation(
        coach="One measured draw says nothing of its spread: the usual inch stands for it.",
        **least(of("standard", q(711.2, "mm"))),
        gives={"minimum": q(736.6, "mm")},
    ),
    "two draws that vary by 10 mm": Situation(
        coach="Two draws that differ say that more is to come: leave nearly two inches.",
        **least(varying(10, 2)),
        gives=allowing(44.9),
    ),
    "five draws that vary by 10 mm": Situation(
        coach="Five draws say more than two, so less has to be left for what is not known.",
        **least(drawn(*FIVE)),
        gives=allowing(38.6),
    ),
    "a sixth draw": Situation(
        coach="A sixth draw like the others must not make the arrow too short overnight.",
        **least(drawn(*SIX)),
        gives=allowing(37.3),
    ),
    "a dozen draws that vary by 10 mm": Situation(
        coach="After a dozen draws an inch and a third is enough.",
        **least(varying(10, 12)),
        gives=allowing(33.9),
    ),
    "thirty draws that vary by 10 mm": Situation(
        coach="Thirty draws that vary by 10 mm ask for 3 deviations and little more.",
        **least(varying(10, 30)),
        gives=allowing(31.6),
    ),
    "six steady draws": Situation(
        coach="However steady the draws, the usual inch stays while nothing controls them.",
        **least(varying(3, 6)),
        gives={"minimum": q(736.6, "mm")},
    ),
    # 29 draws at 700, one at 750: mean 701.667, so V is at least 48.333: the shaft ends at the
    # bow's back when the longest draw comes again
    "one long draw among thirty": Situation(
        coach="A draw that was made once can be made again: the arrow must reach it too.",
        **least(
            {
                "draws": [q(700, "mm")] * 29 + [q(750, "mm")],
                "draw_length_convention": "standard",
            }
        ),
        gives={"minimum": Between(749.99, 750.02, "mm")},
    ),
    # base 10 mm: V = 26.9 mm for s = 8 mm and n = 12; the rest 20 mm past the pivot, D = 666.75:
    # 666.75 + 26.9 + 20 + 12.7 = 726.35
    "a settled draw that still varies by 8 mm": Situation(
        coach="A dozen draws with 8 mm between them may be called settled, and still need room.",
        asks="minimum-length",
        sends={
            "archer": varying(8, 12, draw_control="settled"),
            "bow": {"kind": "recurve", "rest_position": q(20, "mm")},
        },
        gives={"minimum": Between(726.3, 726.41, "mm"), "draw_control/counts": "settled"},
    ),
    # V = 10 mm, the base, and the rest taken at the bow's back: 711.2 + 10 + 12.7 = 733.9
    "a settled and steady draw": Situation(
        coach="Who draws alike a dozen times needs half an inch on the rest and hardly more.",
        asks="minimum-length",
        sends={
            "archer": varying(2, 12, draw_control="settled"),
            "bow": {"kind": "recurve"},
        },
        gives={"minimum": q(733.9, "mm"), "draw_control/counts": "settled"},
    ),
    "settled after five draws": Situation(
        coach="Five draws settle nothing: measure a dozen before you call it settled.",
        **least(varying(2, 5, draw_control="settled")),
        gives={
            "minimum": q(736.6, "mm"),
            "draw_control/counts": "none",
            "draw_control/missing": ["archer.draws"],
        },
    ),
    # V = 81.6 mm for s = 20 mm and n = 3: 792.8 mm
    "three draws all over the place": Situation(
        coach="Three draws that vary by 20 mm are no draw yet: work on the draw, not on the arrow.",
        asks="fit-check",
        sends={
            "archer": varying(20, 3),
            "bow": BOW,
            "arrow": {"length": q(760, "mm")},
        },
        gives={"verdict": "stop", "minimum": Between(792.75, 792.86, "mm")},
        says=("vary",),
    ),
    # V = 81.6 mm for s = 20 mm and n = 3: at least 792.8 mm, and 805.5 to pass half an inch of
    # caution; the next half inch is 32 in, 812.8 mm
    "a saw of half inches and a draw that varies much": Situation(
        coach="Where the arrow must be long, cut to the mark past what is needed, not before it.",
        asks="recommended-length",
        sends={"archer": varying(20, 3), "bow": BOW, "saw_increment": q(0.5)},
        gives={"recommended": q(812.8, "mm"), "minimum": Between(792.75, 792.86, "mm")},
    ),
    "twelve steady draws and an arrow that fits": Situation(
        coach="A measured draw and an arrow past it: shoot.",
        asks="fit-check",
        sends={
            "archer": varying(3, 12),
            "bow": BOW,
            "arrow": {"length": q(762, "mm")},
        },
        gives={"verdict": "pass", "past_back_per_thousand": Between(0, 0.001)},
        says=("novice's draws are not",),
    ),
    "a spread without a number of draws": Situation(
        coach="A spread means nothing until you say of how many draws.",
        asks="fit-check",
        sends={
            "archer": of("standard", q(711.2, "mm"), draw_variation=q(5, "mm")),
            "bow": BOW,
            "arrow": {"length": q(762, "mm")},
        },
        status=422,
        gives={"errors/0/pointer": "#/archer/draw_count"},
    ),
    "draws and a mean besides": Situation(
        coach="Give the draws or their mean, not both: one of them will be old.",
        asks="fit-check",
        sends={
            "archer": {**drawn(*FIVE), "draw_length": q(28)},
            "bow": BOW,
            "arrow": {"length": q(762, "mm")},
        },
        status=422,
        gives={"errors/0/pointer": one_of("#/archer/draws", "#/archer/draw_length")},
    ),
    # the end: 28.9 - 26.25 - V - 1 of growth, short of 1.75; V of 0.1 in and 12 draws is 10 mm
    "a settled draw that will grow": Situation(
        coach="Once the draw has grown the shaft ends behind the bow's back: watch that.",
        asks="fit-check",
        sends={
            "archer": {
                **drawn(*[-2.54, 2.54] * 6),
                "draw_control": "settled",
                "growth_allowance": q(1),
            },
            "bow": {**BOW, "rest_position": q(-1)},
            "arrow": {"length": q(28.9)},
        },
        gives={"verdict": "caution", "draw_control/counts": "settled"},
        says=("behind the back of the bow",),
    ),
    # measured to a back that is assumed 1.75 in out, with the rest 2 in out: ahead of it
    "a rest ahead of a back that nobody measured": Situation(
        coach="A rest ahead of the bow's back wants that back measured first.",
        asks="fit-check",
        sends={
            "archer": {"draw_length": q(26), "draw_length_convention": "to_back"},
            "bow": {"kind": "recurve", "rest_position": q(2)},
            "arrow": {"length": q(27.7)},
        },
        gives={"verdict": "stop"},
    ),
}
