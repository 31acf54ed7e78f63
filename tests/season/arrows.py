"""What an arrow weighs and where it balances.

Front of centre = 100 (A - L/2) / L, A from the nock slot to the balance point (second hand). Where
nothing says otherwise, the point's mass acts at the front end of the shaft and the nock's at the
bottom of its slot.
"""

from __future__ import annotations

from typing import Final

from builders.wire import Body, archer, bow, q
from season.parts import RECURVE
from season.situation import Between, Situation

# 28.5 in of 8 gr/in: 228 gr, centre 14.25
SHAFT: Final[Body] = {"length": q(28.5), "shaft": {"mass_per_length": q(8, "gr/in")}}
REAR: Final[Body] = {
    "nock": {"mass": q(10, "gr")},
    "fletching": {"mass": q(20, "gr"), "rear_edge": q(1), "length": q(2)},
}

SITUATIONS: Final = {
    # 100 x (18 - 14.25) / 28.5
    "a balance point measured on a finger": Situation(
        coach="28.5 in long and balanced at 18 in is 13 % front of centre.",
        asks="balance",
        sends={"arrow": {"length": q(28.5), "balance_point": q(18)}},
        gives={"front_of_centre": 13.16},
    ),
    # 100 x (450 - 362) / 724
    "the same in millimetres": Situation(
        coach="724 mm long and balanced at 450 mm is 12 % front of centre.",
        asks="balance",
        sends={"arrow": {"length": q(724, "mm"), "balance_point": q(450, "mm")}},
        gives={"front_of_centre": 12.15},
    ),
    "balanced in the middle": Situation(
        coach="An arrow balanced in its middle will not fly well, and is no danger.",
        asks="fit-check",
        sends={
            "archer": archer(28),
            "bow": RECURVE,
            "arrow": {"length": q(30), "balance_point": q(15)},
        },
        gives={
            "verdict": "pass",
            "findings/rule=balance-range/severity": "note",
            "findings/rule=balance-range/measured": 0.0,
        },
    ),
    # (228 x 14.25 + 100 x 28.5 + 10 x 0 + 20 x 2) / 358 = 6139 / 358 = 17.148
    "an arrow by its parts": Situation(
        coach="Shaft, point, nock and vanes add up to 358 gr, 10 % front of centre.",
        asks="balance",
        sends={"arrow": {**SHAFT, "point": {"mass": q(100, "gr")}, **REAR}},
        gives={
            "mass": q(358.0, "gr"),
            "balance_point": q(17.148),
            "front_of_centre": 10.17,
        },
    ),
    # without: 6099 / 328 = 18.595, 15.24 %. With the heaviest usual nock and vanes (15 gr at 0, 30
    # gr at 2.5 in) and the point's mass 40 mm behind the end: (6099 + 75 - 157.5) / 373 = 16.130,
    # 6.6 %. With that mass 25 mm ahead of it: (6099 + 98.4) / 328 = 18.895, 16.3 %
    "nobody weighed the nock and the vanes": Situation(
        coach="Without nock and vanes the balance is only a range: 7 to 16 %.",
        asks="balance",
        sends={"arrow": {**SHAFT, "point": {"mass": q(100, "gr")}}},
        gives={
            "front_of_centre": 15.24,
            "front_of_centre_range/low": 6.6,
            "front_of_centre_range/high": 16.3,
        },
    ),
    # 0.67 x 28.5 = 19.095; 228 x (19.095 - 14.25) / (28.5 - 19.095) = 117.45
    "seventeen per cent wanted": Situation(
        coach="17 % is unusual, and if you want it, take a point of 117 gr.",
        asks="balance",
        sends={
            "arrow": {**SHAFT, "point": {"mass": q(100, "gr")}},
            "wanted_front_of_centre": 17,
        },
        gives={"point_mass_for_wanted/point_mass": q(117.45, "gr")},
        says=("outside the usual 7 to 16 %", "no fault"),
    ),
    # 350 weighed against 358 summed agree within 5 %; 330 do not
    "the scale contradicts the parts": Situation(
        coach="If the scale and the parts differ by more than a twentieth, weigh again.",
        asks="fit-check",
        sends={
            "archer": archer(25),
            "bow": RECURVE,
            "arrow": {
                **SHAFT,
                "point": {"mass": q(100, "gr")},
                **REAR,
                "mass": q(330, "gr"),
            },
        },
        gives={
            "verdict": "caution",
            "findings/rule=measured-against-parts/limit": q(358.0, "gr"),
        },
    ),
    "the scale agrees with the parts": Situation(
        coach="A few grains of glue are no contradiction.",
        asks="fit-check",
        sends={
            "archer": archer(25),
            "bow": RECURVE,
            "arrow": {
                **SHAFT,
                "point": {"mass": q(100, "gr")},
                **REAR,
                "mass": q(362, "gr"),
            },
        },
        gives={"verdict": "pass"},
    ),
    "grams typed for grains": Situation(
        coach="No arrow weighs 350 g: say that gr is the grain.",
        asks="fit-check",
        sends={
            "archer": archer(25),
            "bow": RECURVE,
            "arrow": {"length": q(28), "mass": q(350, "g")},
        },
        status=422,
        gives={"errors/0/pointer": "#/arrow/mass/value"},
        says=("was gr meant?",),
    ),
    "borrowed arrows that nobody weighed": Situation(
        coach="Long enough, and nothing known of weight and stiffness: say so, then look at them.",
        asks="fit-check",
        sends={"archer": archer(25), "bow": bow(30), "arrow": {"length": q(28)}},
        gives={"verdict": "pass"},
        says=("arrow.mass", "arrow.shaft.static_spine", "cracks and damage"),
    ),
    # 6 grains a pound of 30 lbf: 180; 5: 150
    "borrowed arrows that turn out light": Situation(
        coach="Once weighed, 170 gr for 30 lb is light: ask the bow's maker first.",
        asks="fit-check",
        sends={
            "archer": archer(25),
            "bow": bow(30),
            "arrow": {"length": q(28), "mass": q(170, "gr")},
        },
        gives={"verdict": "caution", "findings/rule=arrow-mass/limit": q(180.0, "gr")},
    ),
    "a nock that stands out": Situation(
        coach="The nock is part of the arrow's length and weight, at its very end.",
        asks="balance",
        # shaft 28 in of 8 gr/in: 224 gr at 0.5 + 14 = 14.5; (3248 + 2850) / 324 = 18.821
        sends={
            "arrow": {
                **SHAFT,
                "point": {"mass": q(100, "gr")},
                "nock": {"projection": q(0.5)},
            }
        },
        gives={"mass_of_parts": q(324.0, "gr"), "balance_point": Between(18.82, 18.823, "in")},
    ),
}
