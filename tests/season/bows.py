"""Bows of all kinds: compounds, longbows, barebows, weights by their rating.

A draw weight at 28 in is worth 2 to 3 lbf less an inch below and more above from 40 lbf up, and
weight / 20 to weight / 13 an inch below 40 lbf (the trade's rule, no source). The stricter end
counts.
"""

from __future__ import annotations

from typing import Final

from builders.wire import Body, archer, bow, q
from season.situation import ABSENT, Between, Situation, one_of


def shoots(bow: Body, length: float, who: Body | None = None, **arrow: object) -> Body:
    return {"archer": who or archer(28), "bow": bow, "arrow": {"length": q(length), **arrow}}


MATCHED: Final[Body] = {
    "shaft": {
        "static_spine": q(45, "wood-lb"),
        "mass_per_length": q(12, "gr/in"),
        "material": "wood",
    },
    "point": {"mass": q(110, "gr")},
}
CARBON: Final[Body] = {
    "shaft": {"static_spine": q(1000, "astm"), "mass_per_length": q(8, "gr/in")},
    "point": {"mass": q(100, "gr")},
}

SITUATIONS: Final = {
    # D = 28.5 - 1.75 = 26.75; 26.75 + 0.236 + 1.75 + 0.5 = 29.236
    "a compound with a draw stop": Situation(
        coach="A draw stop ends every draw alike: 6 mm and half an inch past the rest will do.",
        asks="minimum-length",
        sends={
            "archer": archer(28.5, draw_control="draw_stop"),
            "bow": {"kind": "compound"},
        },
        gives={"minimum": q(29.237), "draw_control/counts": "draw_stop"},
    ),
    # the rest 0.5 in behind the pivot: 26.75 + 0.236 - 0.5 + 0.5 = 26.986, the hand's own floor
    "a compound whose rest stands behind the grip": Situation(
        coach="However far back the rest stands, the shaft must never end behind the hand.",
        asks="minimum-length",
        sends={
            "archer": archer(28.5, draw_control="draw_stop"),
            "bow": {"kind": "compound", "rest_position": q(-0.5)},
        },
        gives={"minimum": q(26.987)},
    ),
    # 0.8 in behind: the rest asks for 26.686, the hand still for 26.986
    "a rest further behind the grip": Situation(
        coach="The hand decides once the rest stands further back.",
        asks="minimum-length",
        sends={
            "archer": archer(28.5, draw_control="draw_stop"),
            "bow": {"kind": "compound", "rest_position": q(-0.8)},
        },
        gives={"minimum": q(26.987), "floors/id=hand/length": q(26.987)},
    ),
    "a draw stop on a recurve": Situation(
        coach="A recurve has no draw stop: the draw is not controlled.",
        asks="minimum-length",
        sends={"archer": archer(28, draw_control="draw_stop"), "bow": {"kind": "recurve"}},
        gives={
            "minimum": q(29.0),
            "draw_control/counts": "none",
            "draw_control/missing": ["bow.kind"],
        },
    ),
    "a borrowed bow that is too short": Situation(
        coach="Never draw a bow further than its maker allows.",
        asks="fit-check",
        sends=shoots({"kind": "recurve", "maximum_draw": q(27)}, 31),
        gives={"verdict": "stop", "findings/rule=maximum-draw/limit": q(27.0)},
    ),
    # five grains a pound at 60 lbf: 300 gr, not below; six: 360
    "three hundred grains from sixty pounds": Situation(
        coach="Five grains a pound is a speed test's arrow: the bow's maker decides, not we.",
        asks="fit-check",
        sends=shoots(bow(60, kind="compound"), 30, mass=q(300, "gr")),
        gives={"verdict": "caution", "findings/rule=arrow-mass/limit": q(360.0, "gr")},
        says=("maker",),
    ),
    "a grain less": Situation(
        coach="Below five grains a pound nobody shoots: that is close to shooting no arrow at all.",
        asks="fit-check",
        sends=shoots(bow(60, kind="compound"), 30, mass=q(299, "gr")),
        gives={"verdict": "stop", "findings/rule=arrow-mass/limit": q(300.0, "gr")},
        says=("not a safety limit of its own",),
    ),
    "six grains a pound": Situation(
        coach="From six grains a pound up nobody frowns.",
        asks="fit-check",
        sends=shoots(bow(40), 30, mass=q(240, "gr")),
        gives={"verdict": "pass", "findings/rule=arrow-mass": ABSENT},
    ),
    "an arrow lighter than the maker allows": Situation(
        coach="What the bow's maker writes comes before every rule of thumb.",
        asks="fit-check",
        sends=shoots({**bow(40), "minimum_arrow_mass": q(320, "gr")}, 30, mass=q(310, "gr")),
        gives={"verdict": "stop", "findings/rule=maker-arrow-mass/limit": q(320.0, "gr")},
    ),
    # wooden shafts matched by the trade's rule lie at 2.12 to 2.18, below 2.6
    "matched wood from a longbow": Situation(
        coach="Wood of 45 lb from a bow of 45 lb is how longbows are shot every day.",
        asks="fit-check",
        sends=shoots(bow(45, kind="longbow"), 31, **MATCHED),
        gives={"verdict": "pass", "findings/rule=launch-load": ABSENT},
    ),
    "wood of half the weight": Situation(
        coach="A 45 lb shaft from a bow of 70 lb may burst: put it away.",
        asks="fit-check",
        # 2.18 x 70 / 45 = 3.39, past 3.2
        sends=shoots(bow(70, kind="longbow"), 31, **MATCHED),
        gives={"verdict": "stop", "findings/rule=launch-load/limit": 3.2},
    ),
    "wood from a compound": Situation(
        coach="Wood has no place on a compound unless its maker says so.",
        asks="fit-check",
        sends=shoots(bow(45, kind="compound"), 31, **MATCHED),
        gives={"verdict": "caution", "findings/rule=wood-from-compound/severity": "caution"},
    ),
    # 7 grains a pound, below 8
    "a light arrow from a longbow": Situation(
        coach="A longbow wants eight grains a pound: a light arrow makes it kick.",
        asks="fit-check",
        sends=shoots(bow(45, kind="longbow"), 31, mass=q(315, "gr")),
        gives={"verdict": "caution", "findings/rule=arrow-mass/limit": q(360.0, "gr")},
    ),
    "a beginner's shaft on a heavy bow": Situation(
        coach="A shaft of spine 1000 from 60 lb shatters: never put it on the string.",
        asks="fit-check",
        sends=shoots(bow(60, kind="compound"), 30, **CARBON),
        gives={"verdict": "stop", "findings/rule=launch-load/severity": "stop"},
    ),
    "a beginner's shaft on a beginner's bow": Situation(
        coach="The same shaft from 20 lb is what beginners shoot.",
        asks="fit-check",
        sends=shoots(bow(20), 30, **CARBON),
        gives={"verdict": "pass", "findings/rule=launch-load": ABSENT},
    ),
    # 4 in short of 28: 30 - 4 x 30/20 = 24 lbf at the stricter end, 20.8 at the other;
    # six grains a pound of 24 lbf: 144 gr
    "a thirty pound bow drawn 24 inches": Situation(
        coach="A bow of 30 lb drawn 24 in may still pull 24: 140 gr is light for that.",
        asks="fit-check",
        sends=shoots(bow(30, "at_28"), 27, archer(24), mass=q(140, "gr")),
        gives={"verdict": "caution", "findings/rule=arrow-mass/limit": q(144.0, "gr")},
    ),
    # 2 in past 28: 50 + 2 x 3 = 56 lbf at the stricter end; six grains: 336
    "a fifty pound bow drawn 30 inches": Situation(
        coach="A long draw makes a bow of 50 lb one of 56.",
        asks="fit-check",
        sends=shoots(bow(50, "at_28"), 33, archer(30), mass=q(330, "gr")),
        gives={"verdict": "caution", "findings/rule=arrow-mass/limit": q(336.0, "gr")},
    ),
    "a compound's weight is its peak": Situation(
        coach="A compound pulls its peak at any draw: the rating needs no conversion.",
        asks="fit-check",
        sends=shoots(bow(50, "at_28", kind="compound"), 27, archer(24), mass=q(299, "gr")),
        # 299 below 6 x 50 = 300
        gives={"verdict": "caution", "findings/rule=arrow-mass/limit": q(300.0, "gr")},
    ),
    "pounds without their draw": Situation(
        coach="Pounds mean nothing until you say at what draw.",
        asks="fit-check",
        sends=shoots({"kind": "recurve", "draw_weight": q(30, "lbf")}, 30),
        status=422,
        gives={"errors/0/pointer": "#/bow/draw_weight_basis"},
    ),
    "pounds of mass for pounds of force": Situation(
        coach="Draw weight is a force: give it in lbf.",
        asks="fit-check",
        sends=shoots(
            {"kind": "recurve", "draw_weight": q(30, "lb"), "draw_weight_basis": "own_draw"}, 30
        ),
        status=422,
        gives={"errors/0/pointer": "#/bow/draw_weight/unit"},
    ),
    "a thick shaft": Situation(
        coach="A shaft of 9.5 mm is safe to shoot and not allowed at a target competition.",
        asks="fit-check",
        sends=shoots({"kind": "barebow"}, 30, shaft={"outside_diameter": q(9.5, "mm")}),
        gives={"verdict": "pass", "findings/rule=shaft-diameter/severity": "note"},
    ),
    "a thumb ring": Situation(
        coach="With a thumb ring the length is judged like any other.",
        asks="fit-check",
        sends=shoots({"kind": "traditional"}, 30, archer(28, release="thumb")),
        gives={"verdict": "pass", "minimum": q(29.0)},
    ),
    "a left-handed archer": Situation(
        coach="Which hand draws changes nothing about how long the arrow must be.",
        asks="fit-check",
        sends=shoots({"kind": "recurve"}, 30, archer(28, string_hand="left")),
        gives={"verdict": "pass", "minimum": q(29.0)},
    ),
    "a crossbow": Situation(
        coach="Crossbows are another matter: do not guess.",
        asks="fit-check",
        sends=shoots({"kind": "crossbow"}, 30),
        status=422,
        gives={"errors/0/pointer": "#/bow/kind"},
    ),
    "a heavy arrow by a slip of the unit": Situation(
        coach="Nobody shoots 77 g from a light bow: those were grains.",
        asks="fit-check",
        sends=shoots(bow(20), 30, mass=q(77, "g")),
        # 77 g is 1188 gr, past 1000 and past 25 grains a pound
        gives={
            "verdict": one_of("indeterminate"),
            "findings/rule=arrow-mass/measured": Between(76.99, 77.01, "g"),
        },
        says=("grains are not grams",),
    ),
}
