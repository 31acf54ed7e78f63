"""When a shaft is no longer sold: which other one, how long, with what point.

Static spine is a deflection, so a shaft of 500 is 600 / 500 as stiff as one of 600. Frequency
squared and launch force both go with stiffness where the masses are the same.
"""

from __future__ import annotations

from typing import Any, Final

from builders.wire import Body, archer, q
from season.parts import RECURVE
from season.situation import ABSENT, Between, Situation

KNOWN: Final[Body] = {
    "length": q(29),
    "shaft": {"static_spine": q(600, "astm"), "mass_per_length": q(6.2, "gr/in")},
    "point": {"mass": q(100, "gr")},
}


def shaft(name: str, spine: float, density: float, **more: Any) -> Body:
    return {
        "id": name,
        "shaft": {"static_spine": q(spine, "astm"), "mass_per_length": q(density, "gr/in")},
        **more,
    }


def instead(*candidates: Body, **more: Any) -> dict[str, Any]:
    return {
        "asks": "replacement",
        "sends": {"arrow": KNOWN, "candidates": list(candidates), **more},
    }


STEADY: Final = {"archer": archer(27, growth_allowance=q(0)), "bow": RECURVE}

SITUATIONS: Final = {
    "the same shaft under another name": Situation(
        coach="It is the same arrow: same length, same point.",
        **instead(shaft("other", 500, 6.2), shaft("same", 600, 6.2), **STEADY),
        gives={
            "candidates/0/id": "same",
            "candidates/0/made/length": q(29.0),
            "candidates/0/made/mass_difference": Between(-0.02, 0.02, "gr"),
            "candidates/0/verdict": "pass",
        },
    ),
    # 600 / 500 = 1.2 by both, and the spine that acts so is 500
    "a stiffer shaft of the same mass": Situation(
        coach="A fifth stiffer by both measures, uncut and with the same point.",
        **instead(shaft("stiff", 500, 6.2)),
        gives={
            "candidates/0/unchanged/stiffness_difference/free_vibration": 20.0,
            "candidates/0/unchanged/stiffness_difference/launch": 20.0,
            "candidates/0/unchanged/equivalent_static_spine/launch": q(500, "astm"),
            "candidates/0/unchanged/measures_disagree": False,
        },
    ),
    # 29 x 6.2 + 100 = 279.8 gr; 29 x 7.4 + 100 = 314.6 gr
    "a shaft that is stiffer and heavier": Situation(
        coach="Weaker by one measure and stiffer by the other: nobody can say which it is.",
        **instead(shaft("heavy", 550, 7.4)),
        gives={
            "present/mass": q(279.8, "gr"),
            "candidates/0/unchanged/measures_disagree": True,
            "candidates/0/unchanged/stiffness_difference/free_vibration": Between(-15, -1),
            "candidates/0/unchanged/stiffness_difference/launch": Between(1, 20),
        },
        says=("compare arrows with arrows",),
    ),
    "nobody named": Situation(
        coach="Without an archer nothing is made shorter, and nothing is cut.",
        **instead(shaft("weak", 900, 6.2)),
        gives={
            "status": "indeterminate",
            "advice": "leave_uncut",
            "candidates/0/made/length": q(29.0),
            "candidates/0/verdict": ABSENT,
        },
    ),
    # 27 + 2 = 29 is advised to a learner, 27 + 1 = 28 the minimum
    "a weaker shaft for an archer who is done growing": Situation(
        coach="Shorter would act more alike, but no shorter than recommended.",
        **instead(shaft("weak", 750, 6.2), **STEADY),
        gives={
            "minimum": q(28.0),
            "allowed/shortest": q(29.0),
            "candidates/0/made/length": q(29.0),
            "advice": "cut_to",
        },
    ),
    "a junior who still grows": Situation(
        coach="Length can be cut tomorrow. Leave new shafts long while the draw may grow.",
        **instead(
            shaft("stiff", 500, 6.2),
            archer=archer(26, growth_allowance=q(1)),
            bow=RECURVE,
        ),
        gives={"advice": "leave_uncut", "minimum": q(28.0)},
    ),
    # 28.5 + 1 = 29.5
    "present arrows that are too short already": Situation(
        coach="Do not copy a mistake: the new ones are at least as long as the minimum.",
        **instead(
            shaft("same", 600, 6.2),
            archer=archer(28.5, growth_allowance=q(0)),
            bow=RECURVE,
        ),
        gives={
            "present/verdict": "stop",
            "minimum": q(29.5),
            "candidates/0/made/length": Between(29.5, 32, "in"),
        },
    ),
    # 28 in of tube and no nock told: an arrow of 28 in
    "a shaft that is sold too short": Situation(
        coach="It cannot be made as long as it must be.",
        **instead(shaft("short", 600, 6.2, stock_length=q(28))),
        gives={"candidates/0/made": ABSENT, "candidates/0/unchanged": ABSENT},
        says=("No length is both allowed here and within what the shaft gives",),
    ),
    "points come in steps": Situation(
        coach="Choose from the points that the shop has, and tell what is left.",
        **instead(
            shaft("heavy", 550, 7.4),
            available_points=[q(80, "gr"), q(120, "gr"), q(300, "gr")],
            saw_increment=q(0.25),
        ),
        gives={"candidates/0/made/length": q(29.0), "candidates/0/made/point_mass": q(120, "gr")},
    ),
}
