"""Measuring a new archer, and how far an arrow must reach past the bow.

`to_pivot` is D, `standard` is D + 1.75 in. Where nothing controls the draw, the arrow must reach 1
in past the back of the bow (the low end of common practice): minimum = D + 1.75 + 1 = standard +
1. The advised overhang is 3 in on the first evenings, 2 in while learning, 1.5 in once practised
(common practice, no source).
"""

from __future__ import annotations

from typing import Final

from builders.wire import archer, q
from season.parts import RECURVE, check, of
from season.situation import ABSENT, Situation, one_of

SITUATIONS: Final = {
    # 26 + 1 = 27; the caution reaches 1 in above on the first evenings: 28; advised 26 + 3 = 29
    "an inch and a half on the first evening": Situation(
        coach="A draw of 26 in on a first evening is not yet a draw: 27.5 in is too near, take 29.",
        asks="fit-check",
        sends=check(archer(26, experience="first_evenings"), q(27.5)),
        gives={"verdict": "caution", "minimum": q(27.0), "recommended": q(29.0)},
    ),
    "three inches on the first evening": Situation(
        coach="With 3 in past the bow the first evening may begin.",
        asks="fit-check",
        sends=check(archer(26, experience="first_evenings"), q(29)),
        gives={"verdict": "pass", "minimum": q(27.0), "recommended": q(29.0)},
    ),
    # 26.1 + 3 = 29.1, up to a quarter
    "a first evening on a saw of quarter inches": Situation(
        coach="A saw that marks quarters cuts 29.25 in, not 29: rather too long than too short.",
        asks="fit-check",
        sends=check(archer(26.1, experience="first_evenings"), q(30), saw_increment=q(0.25)),
        gives={"verdict": "pass", "minimum": q(27.1), "recommended": q(29.25)},
    ),
    # learning is assumed: advised 26 + 2 = 28; the caution ends at 27.5, the arrow's own length
    "nobody says how practised the archer is": Situation(
        coach="Take an archer of whom nobody says more for a learner, and say that it was assumed.",
        asks="fit-check",
        sends=check(archer(26), q(27.5)),
        gives={"verdict": "pass", "minimum": q(27.0), "recommended": q(28.0)},
        says=("experience", "learning"),
    ),
    # 28 + 1 = 29, advised 28 + 1.5 = 29.5
    "a practised archer": Situation(
        coach="A practised archer with a draw of 28 in shoots 29.5 in: an inch and a half past.",
        asks="recommended-length",
        sends={"archer": archer(28, experience="practised"), "bow": RECURVE},
        gives={"minimum": q(29.0), "recommended": q(29.5)},
    ),
    "an arrow as long as the draw": Situation(
        coach="An arrow as long as the draw can fall off the rest into the hand: take it away.",
        asks="fit-check",
        sends=check(archer(28), q(28)),
        gives={
            "verdict": "stop",
            "findings/severity=stop/measured": q(28.0),
            "findings/severity=stop/limit": q(29.0),
        },
        says=("do not draw it",),
    ),
    "half an inch past the bow": Situation(
        coach="Half an inch past the back of the bow is less than the inch that is the least.",
        asks="fit-check",
        sends=check(archer(28), q(28.5)),
        gives={"verdict": "stop", "minimum": q(29.0)},
    ),
    "exactly an inch past the bow": Situation(
        coach="An arrow exactly at its minimum may be shot under an eye, and never be cut.",
        asks="fit-check",
        sends=check(archer(28), q(29)),
        gives={"verdict": "caution", "minimum": q(29.0)},
        says=("do not cut it any shorter",),
    ),
    # 760.531 + 10 + 25.4 = 795.931 mm
    "exactly at the minimum in centimetres": Situation(
        coach="A figure that is equal to its limit is not below it, whatever the units.",
        asks="fit-check",
        sends=check(
            archer() | {"draw_length": q(76.0531, "cm"), "growth_allowance": q(10, "mm")},
            q(795.931, "mm"),
        ),
        gives={"verdict": "caution", "findings/severity=stop": ABSENT},
    ),
    "a long shaft for a short draw": Situation(
        coach="Much too long is heavy and slow, but safe: nobody shortens it tonight.",
        asks="fit-check",
        sends=check(archer(24), q(32)),
        gives={"verdict": "pass", "minimum": q(25.0)},
    ),
    "measured to the tip": Situation(
        coach="Measure to the end of the shaft: a point's length makes a short arrow look safe.",
        asks="fit-check",
        sends=check(archer(28), q(30)),
        gives={"verdict": "pass"},
        says=("not to the point's tip",),
    ),
    # a collar of 0.5 in would ride on the rest: 29 + 0.5
    "a point with a collar": Situation(
        coach="A collar that slides back over the shaft must not reach the rest: it counts off.",
        asks="minimum-length",
        sends={
            "archer": archer(28),
            "bow": RECURVE,
            "arrow": {"point": {"sleeve_length": q(0.5)}},
        },
        gives={"minimum": q(29.5)},
    ),
    # 26.25 + 1.75 = 28
    "the draw to the pivot point": Situation(
        coach="26.25 in to the pivot point is a draw of 28 in: the same arrow.",
        asks="minimum-length",
        sends={"archer": of("to_pivot", q(26.25)), "bow": RECURVE},
        gives={"minimum": q(29.0)},
    ),
    # 28 + 1.75 + 1 = 30.75
    "the inch and three quarters counted twice": Situation(
        coach="28 in called a draw to the pivot comes out 1.75 in too long: wasteful, never short.",
        asks="minimum-length",
        sends={"archer": of("to_pivot", q(28)), "bow": RECURVE},
        gives={"minimum": q(30.75), "floors/id=bow-back/terms/0/value": q(28.0)},
    ),
    "nobody says what the draw was measured to": Situation(
        coach="A draw without its convention is a guess of 1.75 in: ask again.",
        asks="fit-check",
        sends={
            "archer": {"draw_length": q(28)},
            "bow": RECURVE,
            "arrow": {"length": q(30)},
        },
        status=422,
        gives={"errors/0/pointer": "#/archer/draw_length_convention"},
        says=("1 3/4 in",),
    ),
    # the marked arrow: 28 to the bow's face, and the inch
    "a marked arrow to the back of the bow": Situation(
        coach="Most clubs read a marked arrow at the bow's face: that figure and an inch is least.",
        asks="minimum-length",
        sends={"archer": of("to_back", q(28)), "bow": RECURVE},
        gives={"minimum": q(29.0)},
    ),
    # the face stands 0.5 in past the pivot: D = 27.5; 27.5 + 0.5 + 1
    "a thin bow measured to its back": Situation(
        coach="On a bow whose face stands 0.5 in past the pivot the marked arrow says the same.",
        asks="minimum-length",
        sends={
            "archer": of("to_back", q(28)),
            "bow": {**RECURVE, "back_position": q(0.5)},
        },
        gives={"minimum": q(29.0)},
    ),
    # D = 26.25; the face at 2.25: 26.25 + 2.25 + 1
    "a thick bow": Situation(
        coach="A bow whose face stands further forward needs a longer arrow to reach past it.",
        asks="minimum-length",
        sends={"archer": archer(28), "bow": {**RECURVE, "back_position": q(2.25)}},
        gives={"minimum": q(29.5)},
    ),
    # D = 26.25; 26.25 + 1 + 2.5 + 0.5 = 30.25, past the 29 of the bow's back
    "a rest far forward": Situation(
        coach="A rest in front of the bow must still carry the shaft at the longest draw.",
        asks="minimum-length",
        sends={"archer": archer(28), "bow": {**RECURVE, "rest_position": q(2.5)}},
        gives={"minimum": q(30.25)},
    ),
    # 711.2 + 25.4
    "everything in millimetres": Situation(
        coach="711.2 mm is 28 in: 736.6 mm is 29.",
        asks="fit-check",
        sends=check(of("standard", q(711.2, "mm")), q(750, "mm")),
        gives={"verdict": "pass", "minimum": q(736.6, "mm")},
    ),
    "the draw in inches and the arrow in centimetres": Situation(
        coach="Mixed units are fine where each figure has its own.",
        asks="fit-check",
        sends=check(archer(28), q(73.0, "cm"), report_in={"length": "cm"}),
        gives={"verdict": "stop", "minimum": q(73.66, "cm")},
    ),
    "centimetres typed as inches": Situation(
        coach="Nobody draws 71 inches: that was centimetres.",
        asks="fit-check",
        sends=check(archer(71), q(75)),
        status=422,
        gives={"errors/0/pointer": one_of("#/archer/draw_length", "#/archer/draw_length/value")},
    ),
    "inches typed as centimetres": Situation(
        coach="Nobody draws 28 centimetres: that was inches.",
        asks="fit-check",
        sends=check(of("standard", q(28, "cm")), q(30)),
        status=422,
        gives={"errors/0/pointer": one_of("#/archer/draw_length", "#/archer/draw_length/value")},
    ),
    # 165 cm / 2.5 = 66 cm = 25.98 in against 30 in: 4.02 in, 102 mm, more than 75 mm
    "an arm span that contradicts the draw": Situation(
        coach="An archer with arms of 165 cm does not draw 30 in: measure again.",
        asks="fit-check",
        sends=check(archer(30, arm_span=q(165, "cm")), q(32.5)),
        gives={"verdict": "caution", "findings/rule=arm-span/severity": "caution"},
        says=("contradict",),
    ),
    # 70 / 2.5 = 28 against 28.5
    "an arm span that agrees with the draw": Situation(
        coach="70 in of arm span and a draw of 28.5 in go together.",
        asks="fit-check",
        sends=check(archer(28.5, arm_span=q(70)), q(31.5)),
        gives={"verdict": "pass", "findings/rule=arm-span": ABSENT},
    ),
    # 70 / 2.5 = 28 standard; 28 + 4 + 1 = 33
    "only the arm span, and a long shaft": Situation(
        coach="An arm span is a guess: 4 in on top, shoot under an eye, and cut nothing.",
        asks="recommended-length",
        sends={
            "archer": {"arm_span": q(70)},
            "bow": RECURVE,
            "arrow": {"length": q(34)},
        },
        gives={"minimum": q(33.0), "advice": one_of("leave_uncut", "as_is"), "verdict": "caution"},
        never=("cut_to",),
    ),
    "only the arm span, and an arrow of the usual length": Situation(
        coach="30 in may be right for arms of 70 in, or short: do not draw it before measuring.",
        asks="fit-check",
        sends=check({"arm_span": q(70)}, q(30)),
        gives={"verdict": "stop", "minimum": q(33.0)},
    ),
    "nothing at all about the draw": Situation(
        coach="Without a draw there is no safe length.",
        asks="fit-check",
        sends=check({}, q(30)),
        status=422,
        gives={"errors/0/pointer": "#/archer/draw_length"},
    ),
    # each of these alone can stop the arrow: a collar, a thick bow, a rest in front, a wide spread
    "what nobody measured": Situation(
        coach="Say what was not looked at: collar, bow's face, rest, spread and growth.",
        asks="fit-check",
        sends=check(archer(28), q(30)),
        gives={"verdict": "pass"},
        says=(
            "arrow.point.sleeve_length",
            "bow.back_position",
            "bow.rest_position",
            "archer.draws",
            "archer.growth_allowance",
            "cracks",
        ),
    ),
    # 30 - 1
    "how far a found arrow may be drawn": Situation(
        coach="An arrow of 30 in is for draws up to 29 in.",
        asks="longest-draw",
        sends={
            "arrow": {"length": q(30)},
            "bow": RECURVE,
            "archer": {"draw_length_convention": "standard"},
        },
        gives={"longest_safe_draw": q(29.0)},
    ),
    # to the pivot: 30 - 1 - 1.75
    "how far a found arrow may be drawn, to the pivot": Situation(
        coach="The same arrow by the other convention: 27.25 in to the pivot point.",
        asks="longest-draw",
        sends={
            "arrow": {"length": q(30)},
            "bow": RECURVE,
            "archer": {"draw_length_convention": "to_pivot"},
        },
        gives={"longest_safe_draw": q(27.25)},
    ),
}
