"""Juniors whose draw gets longer, and arrows that must last until the next check.

Growth adds to the minimum and to the recommended length, and never leads to a cut. Without a rate,
the season counts with the 97th centile of boys at their fastest: 11.9 cm of height a year (Tanner
and Davies), over 2.5 for the draw: 4.76 cm, 1.874 in a year.
"""

from __future__ import annotations

from typing import Final

from builders.wire import Body, archer, bow, q
from season.parts import RECURVE, check
from season.situation import ABSENT, Between, Situation, one_of

JUNIOR: Final[Body] = archer(24, growth_allowance=q(1))

SITUATIONS: Final = {
    # 24 + 1 + 1 = 26; advised 24 + 1 + 2 = 27
    "an inch of growth by spring": Situation(
        coach="For a draw of 24 in that may grow an inch by spring, 27 in is right today.",
        asks="fit-check",
        sends=check(JUNIOR, q(27)),
        gives={"verdict": "pass", "minimum": q(26.0), "recommended": q(27.0)},
    ),
    "long enough today and too short by spring": Situation(
        coach="25.5 in would do today and not in spring: give out the longer set now.",
        asks="fit-check",
        sends=check(JUNIOR, q(25.5)),
        gives={"verdict": "stop", "minimum": q(26.0)},
    ),
    "nobody spoke of growth": Situation(
        coach="Ask how much the draw may grow: until then it is not looked at.",
        asks="fit-check",
        sends=check(archer(24), q(26)),
        gives={
            "verdict": "pass",
            "not_checked/what=Growth of the draw until the next check./fields": [
                "archer.growth_allowance"
            ],
        },
    ),
    "a new shaft for a child who grows": Situation(
        coach="Leave a growing child's shafts uncut: next year they are just right.",
        asks="recommended-length",
        sends={"archer": JUNIOR, "bow": RECURVE, "arrow": {"length": q(32)}},
        gives={"advice": "leave_uncut", "recommended": q(27.0), "verdict": "pass"},
        says=("a cut cannot be undone",),
    ),
    "a dozen for a child who grows": Situation(
        coach="Order a growing child's dozen uncut, whatever the chart says.",
        asks="order",
        sends={
            "sets": [
                {
                    "id": "Runa",
                    "shaft": "reed 800",
                    "shafts": 12,
                    "archer": JUNIOR,
                    "bow": RECURVE,
                    "arrow": {},
                    "stock_length": q(32),
                }
            ]
        },
        gives={"total": 12, "total_uncut": 12, "lines/0/uncut": True},
    ),
    "a dozen for an archer of whom nobody spoke": Situation(
        coach="Where nobody says that the draw has settled, the dozen stays uncut.",
        asks="order",
        sends={
            "sets": [
                {
                    "id": "Runa",
                    "shaft": "reed 800",
                    "shafts": 12,
                    "archer": archer(24),
                    "bow": RECURVE,
                    "arrow": {},
                    "stock_length": q(32),
                }
            ]
        },
        gives={"total": 12, "total_uncut": 12},
    ),
    # learning: 28 + 2
    "a grown archer who has stopped growing": Situation(
        coach="With growth stated as none, a learner's long shafts may come down to 30 in.",
        asks="recommended-length",
        sends={
            "archer": archer(28, growth_allowance=q(0)),
            "bow": RECURVE,
            "arrow": {"length": q(32)},
        },
        gives={"advice": "cut_to", "recommended": q(30.0), "minimum": q(29.0)},
    ),
    # 30 lbf and 2 in at the stricter slope, 30/13 lbf an inch: 34.6 lbf, five grains a pound: 173
    # (by the trade's 3 lbf an inch 36 lbf: 180)
    "a light arrow for a bow that the child grows into": Situation(
        coach="A child who grows 2 in draws more pounds too: 160 gr will then be too light.",
        asks="fit-check",
        sends={
            "archer": archer(24, growth_allowance=q(2)),
            "bow": bow(30),
            "arrow": {"length": q(29), "mass": q(160, "gr")},
        },
        gives={
            "verdict": "indeterminate",
            "findings/rule=grown-draw-weight/severity": "indeterminate",
            "findings/rule=grown-draw-weight/limit": Between(173, 180.1, "gr"),
        },
    ),
    "a junior with a clicker": Situation(
        coach="A clicker holds a growing draw only if the blade moves with it: say when it ends.",
        asks="fit-check",
        sends={
            "archer": archer(28, draw_control="clicker", growth_allowance=q(1), coach_checked=True),
            "bow": {
                "kind": "recurve",
                "rest_position": q(0.2),
                "clicker_range": {"near": q(1.5), "far": q(2.5)},
            },
            "arrow": {"length": q(27.8), "point": {"exposed_length": q(0.75)}},
        },
        # D = 26.25: 26.25 + 0.236 (6 mm) + 0.2 + 0.5 = 27.186, growth left out. The arrow is
        # 0.613 in longer, so it ends at a draw of 28.613: at 1.874 in a year in 3.9 months
        gives={
            "verdict": "caution",
            "minimum": q(27.187),
            "findings/severity=caution/limit": q(28.613),
            "findings/severity=note/measured": 3.0,
        },
        says=("growth", "blade"),
    ),
    # 27 - 1 = 26, 2 in to grow at 1.5 in a year: 16 months
    "until when the green set will do": Situation(
        coach="At an inch and a half a year the green set will do for 16 months.",
        asks="kit/labels",
        sends={
            "sets": [{"id": "green", "arrow": {"length": q(27)}}],
            "bow": RECURVE,
            "archer": archer(24),
            "growth_rate": q(1.5),
        },
        gives={"labels/0/longest_safe_draw": q(26.0), "labels/0/safe_until_months": 16},
    ),
    # 27.6 - 1 = 26.6, below the draw of 27
    "a set that the child has outgrown": Situation(
        coach="This set is outgrown already: hang it up for a smaller child.",
        asks="kit/labels",
        sends={
            "sets": [{"id": "white", "arrow": {"length": q(27.6)}}],
            "bow": RECURVE,
            "archer": archer(27),
            "growth_rate": q(1),
        },
        gives={
            "labels/0/longest_safe_draw": q(26.6),
            "labels/0/growth": "already_outgrown",
            "labels/0/safe_until_months": ABSENT,
        },
    ),
    # 24 + 6/12 x 1 = 24.5 is the season's draw: advised 24.5 + 2 = 26.5
    "a season's growth when buying": Situation(
        coach="Buy for the end of the season, not for today.",
        asks="kit/lengths",
        sends={
            "archers": [{"id": "Runa", "archer": archer(24), "bow": RECURVE}],
            "most_lengths": 1,
            "season": {"months": 6, "growth_rate": q(1)},
        },
        gives={"lengths/0/length": q(26.5), "lengths/0/archers": ["Runa"]},
    ),
    # half a year at 1.874 in: 0.937; 24 + 0.937 + 2 = 26.937
    "a season's growth of a child whose growth nobody knows": Situation(
        coach="If nobody knows how fast a child grows, count with the fastest.",
        asks="kit/lengths",
        sends={
            "archers": [{"id": "Runa", "archer": archer(24), "bow": RECURVE}],
            "most_lengths": 1,
            "season": {"months": 6},
        },
        gives={"lengths/0/length": Between(26.936, 26.939, "in")},
    ),
    "a grown archer in the same season": Situation(
        coach="An archer who has stopped growing needs nothing added for the season.",
        asks="kit/lengths",
        sends={
            "archers": [
                {"id": "Ekke", "archer": archer(29, growth_allowance=q(0)), "bow": RECURVE}
            ],
            "most_lengths": 1,
            "season": {"months": 6, "growth_rate": q(1)},
        },
        gives={"lengths/0/length": q(31.0)},
    ),
    # 24 + 1 + 1.75 clear of the back with growth: the arrow ends at 26 in of draw, 2 in from now
    "an arrow that lasts for two inches": Situation(
        coach="Tell the parents to what draw this arrow will do: 26 in.",
        asks="fit-check",
        sends=check(archer(24), q(27)),
        gives={"verdict": "pass", "longest_safe_draw": q(26.0), "findings/severity=stop": ABSENT},
    ),
    "a growth given in words": Situation(
        coach="Growth is a length; a word like none is not one, so ask for the figure.",
        asks="fit-check",
        sends=check(archer(24, growth_allowance="none"), q(27)),
        status=422,
        gives={"errors/0/pointer": one_of("#/archer/growth_allowance")},
    ),
}
