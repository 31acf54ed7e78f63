"""Which lengths a club buys for its archers.

Each archer gets the recommended length or more: the draw, the season's growth and 2 in for
learners. Waste is length beyond that.
"""

from __future__ import annotations

from typing import Any, Final

from builders.wire import Body, archer, bow, q
from season.parts import RECURVE
from season.situation import Situation, one_of


def buy(lengths: int, *archers: Body, **more: Any) -> dict[str, Any]:
    return {
        "asks": "kit/lengths",
        "sends": {"archers": list(archers), "most_lengths": lengths, **more},
    }


def member(name: str, draw: float, **more: Any) -> Body:
    who = archer(draw, **{"growth_allowance": q(0), **more})
    return {"id": name, "archer": who, "bow": RECURVE}


SITUATIONS: Final = {
    # 25 + 2 = 27, 26 + 2 = 28: six arrows an inch too long
    "one length for two": Situation(
        coach="Buy one length for the longer draw; the other archer's arrows are an inch longer.",
        **buy(1, member("Runa", 25), member("Ekke", 26), arrows_per_archer=6),
        gives={
            "lengths/0/length": q(28.0),
            "lengths/0/archers": ["Runa", "Ekke"],
            "waste": q(6.0),
        },
    ),
    "two lengths for two": Situation(
        coach="With two lengths nothing is wasted.",
        **buy(2, member("Runa", 25), member("Ekke", 26), arrows_per_archer=6),
        gives={
            "lengths/0/length": q(27.0),
            "lengths/1/length": q(28.0),
            "waste": q(0.0),
        },
    ),
    # 27, 27.5 and 32: the two near each other share, 0.5 in each of six arrows
    "two lengths for three": Situation(
        coach="The two of nearly one draw share a length; the tall one gets another.",
        **buy(
            2,
            member("Runa", 25),
            member("Ekke", 25.5),
            member("Bram", 30),
            arrows_per_archer=6,
        ),
        gives={
            "lengths/0/length": q(27.5),
            "lengths/0/archers": ["Runa", "Ekke"],
            "lengths/1/length": q(32.0),
            "waste": q(3.0),
        },
    ),
    # 25.3 + 2 = 27.3, up to a quarter
    "a saw of quarter inches": Situation(
        coach="Round a length to buy up, never down.",
        **buy(1, member("Runa", 25.3), saw_increment=q(0.25)),
        gives={"lengths/0/length": q(27.5)},
    ),
    # 25 + 3
    "first evenings": Situation(
        coach="For archers on their first evenings buy 3 in past the draw.",
        **buy(1, member("Runa", 25, experience="first_evenings")),
        gives={"lengths/0/length": q(28.0)},
    ),
    "an archer whose bow is too short": Situation(
        coach="An archer who overdraws the bow needs another bow, not another arrow.",
        **buy(
            1,
            member("Runa", 25),
            {
                "id": "Bram",
                "archer": archer(30, growth_allowance=q(0)),
                "bow": {**bow(35), "maximum_draw": q(28)},
            },
        ),
        gives={
            "lengths/0/archers": ["Runa"],
            "unsuited/archer=Bram/reason": "stopped",
        },
    ),
    # D = 26.25: minimum 26.25 + 0.236 (6 mm) + 0.2 + 0.5 = 27.186, the blade's reach to
    # 26.25 + 2.5 - 0.75 = 28; midway between 27.686 and 28
    "an archer with a clicker": Situation(
        coach="Buy for a clicker what passes with it: near the end of its reach.",
        **buy(
            1,
            {
                "id": "Ines",
                "archer": archer(28, draw_control="clicker", coach_checked=True),
                "bow": {
                    "kind": "recurve",
                    "rest_position": q(0.2),
                    "clicker_range": {"near": q(1.5), "far": q(2.5)},
                },
            },
            arrow={"point": {"exposed_length": q(0.75)}},
        ),
        gives={"lengths/0/length": q(27.844), "minimums/archer=Ines/verdict": "pass"},
    ),
    # 60 / 2.5 = 24; 24 + 4 + 1 = 29, and half an inch to pass its caution
    "an archer of whom only the arm span is known": Situation(
        coach="Buy long for an arm span, or better: measure the draw first.",
        **buy(1, {"id": "Runa", "archer": {"arm_span": q(60)}, "bow": RECURVE}),
        gives={
            "lengths/0/length": one_of(q(29.5), q(29.501)),
            "minimums/archer=Runa/verdict": "caution",
        },
    ),
}
