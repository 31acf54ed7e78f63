"""Draws measured some time ago, and what becomes of an arrow month by month.

Of girls, and of boys whose table is not asked for, nothing is known by age: below 16 the 97th
centile of boys at their fastest counts, 11.9 cm of height a year, over 2.5 for the draw: 4.76 cm,
1.874 in a year. A month has 365.25 / 12 days.
"""

from __future__ import annotations

from typing import Final

from builders.wire import archer, q
from season.parts import RECURVE, check
from season.situation import ABSENT, Situation

SITUATIONS: Final = {
    # 184 days are 6.045 months, at 1.874 in a year 0.944 in: 24 + 0.944 + 1 = 25.944
    "a draw from before the summer": Situation(
        coach="That draw is half a year old. Count with 25 in, and measure her again.",
        asks="fit-check",
        sends=check(
            archer(24, age=12.5, measured_on="2026-03-01", today="2026-09-01"),
            q(26.5),
        ),
        gives={
            "verdict": "caution",
            "minimum": q(25.944),
            "findings/rule=old-draw/severity": "caution",
            "findings/rule=old-draw/measured": q(0.945),
            "findings/rule=old-draw/source": "growth-ages",
        },
        says=("Measure it again",),
    ),
    # 365 days before 12.5 the boy was 11.501. By the 97th centile: to 12 half a year at
    # (6.955 + 7.33) / 2, to 12.5 half a year at (7.33 + 9.29) / 2, less 0.005: 7.722 cm of height,
    # 3.089 cm or 1.216 in of draw: 24 + 1.216 + 1 = 26.216
    "last year's draw of a boy of twelve and a half": Situation(
        coach="Last year's list is no use for a boy in his spurt: he draws an inch more.",
        asks="minimum-length",
        sends={
            "archer": archer(
                24, age=12.5, growth_table="boys", measured_on="2025-09-01", today="2026-09-01"
            ),
            "bow": RECURVE,
        },
        gives={"minimum": q(26.216)},
    ),
    # 31 days at 1.2 in a year: 0.102; below three months it is a note
    "a draw of last month": Situation(
        coach="A month at an inch a year is a tenth of an inch: it is counted, and no trouble.",
        asks="fit-check",
        sends=check(
            archer(24, growth_rate=q(1.2), measured_on="2026-08-01", today="2026-09-01"), q(26.5)
        ),
        gives={
            "verdict": "pass",
            "minimum": q(25.102),
            "findings/rule=old-draw/severity": "note",
        },
    ),
    "an old draw of somebody": Situation(
        coach="Nobody told me how old that archer is: use the figure, and say that it is old.",
        asks="fit-check",
        sends=check(archer(24, measured_on="2026-03-01", today="2026-09-01"), q(26.5)),
        gives={
            "verdict": "caution",
            "minimum": q(25.0),
            "findings/rule=old-draw/measured": 6.05,
        },
    ),
    "an old draw of a grown archer": Situation(
        coach="At forty nobody's arms get longer: last year's draw will do.",
        asks="fit-check",
        sends=check(archer(28, age=40, measured_on="2025-09-01", today="2026-09-01"), q(30.5)),
        gives={"verdict": "pass", "minimum": q(29.0), "findings/rule=old-draw": ABSENT},
    ),
    # The tip at 27.5 + 0.75 - 26.25 = 2 in lies on the blade; 0.95 in further on it does not.
    "an old draw with a clicker": Situation(
        coach="Whether that clicker still ends the draw, only a fresh measurement shows.",
        asks="fit-check",
        sends={
            "archer": archer(
                28,
                draw_control="clicker",
                age=13,
                measured_on="2026-03-01",
                today="2026-09-01",
                coach_checked=True,
            ),
            "bow": {
                "kind": "recurve",
                "rest_position": q(0.2),
                "clicker_range": {"near": q(1.5), "far": q(2.5)},
            },
            "arrow": {"length": q(27.5), "point": {"exposed_length": q(0.75)}},
        },
        gives={"verdict": "stop", "findings/rule=old-draw/severity": "caution"},
    ),
    "a shaft for a child of known age": Situation(
        coach="A clicker does not stop a child from growing: leave the shaft long.",
        asks="recommended-length",
        sends={
            "archer": archer(28, draw_control="clicker", age=13, experience="practised"),
            "bow": {
                "kind": "recurve",
                "rest_position": q(0.2),
                "clicker_range": {"near": q(1.5), "far": q(2.5)},
            },
            "arrow": {"length": q(32), "point": {"exposed_length": q(0.75)}},
        },
        gives={"advice": "leave_uncut"},
        says=("a cut cannot be undone",),
    ),
    # 24 + 0.1 a month, an inch clear: 25, 25.1, ... The 25.2 in arrow is at its limit after 2
    # months, and it must pass half an inch clear for no caution: a caution from today on.
    "a growing archer month by month": Situation(
        coach="This arrow will do until the second month. Have longer ones by then.",
        asks="fit-check",
        sends={**check(archer(24, growth_rate=q(1.2)), q(25.2)), "curve_months": 6},
        gives={
            "growth_curve/source": "request",
            "growth_curve/months/0/minimum": q(25.0),
            "growth_curve/months/2/draw_length": q(24.2),
            "growth_curve/months/2/minimum": q(25.2),
            "growth_curve/months/2/verdict": "caution",
            "growth_curve/months/3/verdict": "stop",
            "growth_curve/check_by_month": 2,
            "growth_curve/buy_by_month": 2,
        },
    ),
    # A boy of 13 by the 97th centile: half a year to 13.5 at (11.25 + 11.9) / 2 is 5.7875 cm of
    # height, 2.315 cm or 0.911 in of draw; at the 50th (8.6 + 9.49) / 2: 4.5225, 1.809, 0.712
    "half a year of a boy of thirteen": Situation(
        coach="Count with the fastest boy, and tell the parents what is usual.",
        asks="fit-check",
        sends={
            **check(archer(24, age=13, growth_table="boys", experience="practised"), q(28)),
            "curve_months": 6,
        },
        gives={
            "growth_curve/source": "tanner-davies",
            "growth_curve/months/6/draw_length": q(24.911),
            "growth_curve/months/6/median_draw_length": q(24.712),
            "growth_curve/months/6/minimum": q(25.911),
            "growth_curve/months/6/verdict": "pass",
            "growth_curve/check_by_month": 3,
            "growth_curve/buy_by_month": ABSENT,
        },
    ),
    # 1.874 in a year: the two inches to 26 in last for 12.8 months
    "until when the green set will do for a girl of twelve": Situation(
        coach="No table tells how girls grow: the green set will surely do for a year.",
        asks="kit/labels",
        sends={
            "sets": [{"id": "green", "arrow": {"length": q(27)}}],
            "bow": RECURVE,
            "archer": archer(24, age=12),
            "curve_months": 12,
        },
        gives={
            "labels/0/safe_until_months": 12,
            "growth_curve/source": "growth-ages",
            "growth_curve/months/12/draw_length": q(25.875),
        },
    ),
    # 24 + half of 1.2 = 24.6 at the season's end; advised 2 in more
    "a season for an archer whose growth is known": Situation(
        coach="Her own rate counts, not that of the fastest.",
        asks="kit/lengths",
        sends={
            "archers": [{"id": "Runa", "archer": archer(24, growth_rate=q(1.2)), "bow": RECURVE}],
            "most_lengths": 1,
            "season": {"months": 6},
            "curve_months": 12,
        },
        gives={
            "lengths/0/length": q(26.6),
            "minimums/0/growth_curve/months/12/draw_length": q(25.2),
            "minimums/0/growth_curve/months/12/verdict": "caution",
        },
    ),
    "a dozen for an archer whose growth is known": Situation(
        coach="Leave her dozen whole: 32 in will do for the two years that I look ahead.",
        asks="order",
        sends={
            "sets": [
                {
                    "id": "Runa",
                    "shaft": "reed 800",
                    "shafts": 12,
                    "archer": archer(24, growth_rate=q(1.2)),
                    "bow": RECURVE,
                    "arrow": {},
                    "stock_length": q(32),
                }
            ],
            "curve_months": 24,
        },
        gives={
            "total_uncut": 12,
            "sets/0/growth_curve/months/24/draw_length": q(26.4),
            "sets/0/growth_curve/months/24/verdict": "pass",
        },
    ),
}
