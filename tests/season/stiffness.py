"""What a cut, or another point, does to the arrow's stiffness.

Static spine is the deflection on a span of 28 in under 1.94 lb, so a cut changes neither it nor E
I. An inch is worth about 5 lbf of draw weight (common practice, no source).
"""

from __future__ import annotations

from typing import Final

from builders.wire import Body, bow, q
from season.situation import Between, Situation

SHAFT: Final[Body] = {"static_spine": q(500, "astm"), "mass_per_length": q(8.4, "gr/in")}
ARROW: Final[Body] = {
    "length": q(30),
    "shaft": SHAFT,
    "point": {"mass": q(120, "gr")},
    "nock": {"mass": q(10, "gr")},
    "fletching": {"mass": q(20, "gr"), "rear_edge": q(50, "mm"), "length": q(20, "mm")},
}

SITUATIONS: Final = {
    # deflection grows with the cube of the span: 0.5 x (30/28)^3 = 0.615, 0.5 x (29/28)^3 = 0.5555.
    # Equivalent spines 440 and 469 by a second program (derived)
    "an inch off a 500 shaft": Situation(
        coach="An inch shorter the shaft is still a 500, and acts like a 440 to 469.",
        asks="spine",
        sends={
            "arrow": ARROW,
            "changes": {"length": q(29)},
            "report_in": {"force": "lbf"},
        },
        gives={
            "after/static_spine": q(500.0, "astm"),
            "before/own_length_deflection": q(0.615),
            "after/own_length_deflection": q(0.5555),
            "after/equivalent_static_spine/free_vibration": Between(438, 442, "astm"),
            "after/equivalent_static_spine/launch": Between(467, 471, "astm"),
            "after/draw_weight_shift": q(5.0, "lbf"),
        },
    ),
    # 30 x 8.4 + 120 + 10 + 20 = 402; 425 - 402 = 23 more on the point, or on 30 in of shaft: 0.767
    "an arrow for a school bow that is to weigh more": Situation(
        coach="Put 23 grains more on the point, or take a heavier shaft.",
        asks="balance",
        sends={"arrow": ARROW, "wanted_mass": q(425, "gr"), "draw_weight": q(42.5, "lbf")},
        gives={
            "mass": q(402.0, "gr"),
            "to_reach_wanted_mass/grains_per_pound": 10.0,
            "to_reach_wanted_mass/by_point/point_mass": q(143.0, "gr"),
            "to_reach_wanted_mass/by_point/equivalent_static_spine/launch": Between(
                510, 520, "astm"
            ),
            "to_reach_wanted_mass/by_shaft/mass_per_length": q(9.167, "gr/in"),
        },
    ),
    # 515 by both, without vanes (derived)
    "a point of 25 grains more": Situation(
        coach="A heavier point makes the arrow act weaker, here like a 515.",
        asks="spine",
        sends={
            "arrow": {name: part for name, part in ARROW.items() if name != "fletching"},
            "changes": {"point_mass": q(145, "gr")},
        },
        gives={
            "after/equivalent_static_spine/free_vibration": Between(512, 518, "astm"),
            "after/equivalent_static_spine/launch": Between(512, 518, "astm"),
        },
    ),
    # nearly all mass at the point, held sideways at both ends: pi^2 E I / L^2 (Euler's column).
    # E I = 2546.176 / 500 = 5.0924 N m^2, L = 0.7 m from the nock slot: 102.6 N
    "a nock that stands out takes the push": Situation(
        coach="The string pushes at the bottom of the nock, so a long nock counts in the push.",
        asks="spine",
        sends={
            "arrow": {
                "length": q(0.7, "m"),
                "shaft": {"static_spine": q(500, "astm"), "mass_per_length": q(1, "g/m")},
                "point": {"mass": q(40, "g")},
                "nock": {"projection": q(12, "mm")},
            },
            "report_in": {"force": "N"},
        },
        gives={"before/critical_launch_force": Between(102.0, 103.7, "N")},
    ),
    # 26 / 0.5 in on the wood's span would be 413 thousandths: 26 / 0.41271 = 63.0 lb
    "a 500 shaft in pounds of wood": Situation(
        coach="A 500 is about 63 lb on the wood scale.",
        asks="spine",
        sends={"arrow": ARROW, "report_in": {"static_spine": "wood-lb"}},
        gives={"before/static_spine": Between(62.95, 63.05, "wood-lb")},
    ),
    "which spine to buy": Situation(
        coach="Which shaft suits a bow stands in its maker's chart, not here.",
        asks="spine",
        sends={"arrow": ARROW, "bow": bow(45)},
        gives={"before/launch_load": Between(1.0, 1.8)},
        says=("shaft maker's chart",),
    ),
    "nobody knows the spine": Situation(
        coach="Without the shaft's spine there is nothing to say about a cut.",
        asks="spine",
        sends={"arrow": {"length": q(30), "point": {"mass": q(120, "gr")}}},
        status=422,
        gives={"errors/0/pointer": "#/arrow/shaft/static_spine"},
    ),
    "a cut that makes the arrow longer": Situation(
        coach="A saw makes nothing longer; 31 in is another shaft.",
        asks="spine",
        sends={"arrow": ARROW, "changes": {"length": q(31)}},
        status=422,
        gives={"errors/0/pointer": "#/changes/length"},
    ),
}
