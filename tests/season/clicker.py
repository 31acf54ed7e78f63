"""Archers with a clicker: what it allows, and what it does not show.

A clicker that counts replaces the inch past the bow: minimum = D + 6 mm + rest position + 0.5 in
(margins of this project, without a source). The tip leaves the blade at length + exposed - D. The
recommended figure lies midway between the minimum plus 0.5 in and the window's end.
"""

from __future__ import annotations

from typing import Any, Final

from builders.wire import Body, archer, q
from season.situation import ABSENT, Between, Situation, one_of

BOW: Final[Body] = {
    "kind": "recurve",
    "rest_position": q(0.2),
    "clicker_range": {"near": q(1.5), "far": q(2.5)},
}


def clicker(draw: float, **more: Any) -> Body:
    return archer(draw, draw_control="clicker", **more)


def point(length: float | None, exposed: float = 0.75) -> Body:
    given = {"point": {"exposed_length": q(exposed)}}
    return given if length is None else {"length": q(length), **given}


# Of a draw of 27.5 in, D = 25.75: from 25.75 + 0.236 + 0.2 + 0.5 = 26.686 to 25.75 + 2.4 - 0.7 =
# 27.45
LONG: Final[Body] = {
    "archer": clicker(27.5, coach_checked=True),
    "bow": {**BOW, "clicker_range": {"near": q(1.4), "far": q(2.4)}},
    "arrow": point(27.5, 0.7),
}

SITUATIONS: Final = {
    # The tip at 28 + 0.75 - 26.25 = 2.5, after half an inch of cut at 2: 27.5 - 27.186 = 0.314
    # above the minimum, so in the caution band of 0.5
    "half an inch off a clicker shooter's arrow": Situation(
        coach="Half an inch off the arrow: the blade as much nearer, and new marks.",
        asks="clicker",
        sends={
            "archer": clicker(28, coach_checked=True),
            "bow": BOW,
            "arrow": point(28),
            "changes": {"length": q(27.5)},
        },
        gives={
            "blade_before": q(2.5),
            "blade_after": q(2.0),
            "move": q(-0.5),
            "within_range": True,
            "draw_if_not_moved": q(27.5),
            "sight/arrow_lands": "higher",
            "minimum": q(27.187),
            "verdict": "caution",
        },
        says=("new marks",),
    ),
    # The tip at 28 + 0.75 - 25.25 = 3.5 at the start, after an inch of growth at 2.5
    "an inch more draw with the same arrow": Situation(
        coach="She draws an inch further: the blade comes nearer, and it lands high.",
        asks="clicker",
        sends={
            "archer": clicker(27),
            "bow": BOW,
            "arrow": point(28),
            "changes": {"draw_length": q(28)},
        },
        gives={"move": q(-1.0), "within_range": True, "sight/arrow_lands": "higher"},
    ),
    # 29 + 0.75 - 26.25 = 3.5, with a point that stands out 0.25 in more 3.75: beyond 2.5
    "a longer point where the blade cannot follow": Situation(
        coach="The blade does not go out that far: extend the clicker, and cut nothing for it.",
        asks="clicker",
        sends={
            "archer": clicker(28),
            "bow": BOW,
            "arrow": point(29),
            "changes": {"exposed_length": q(1.0)},
        },
        gives={
            "blade_after": q(3.75),
            "within_range": False,
            "sight/arrow_lands": "same",
            "verdict": "caution",
        },
        says=("Do not cut",),
    ),
    # 26.5 in: below 27.186
    "a cut that is too much for any clicker": Situation(
        coach="At 26.5 in that arrow comes off the rest, wherever the blade is.",
        asks="clicker",
        sends={
            "archer": clicker(28, coach_checked=True),
            "bow": BOW,
            "arrow": point(28),
            "changes": {"length": q(26.5)},
        },
        gives={"verdict": "stop", "within_range": False},
    ),
    # D = 26.25: 26.25 + 0.236 + 0.2 + 0.5 = 27.186; window to 26.25 + 2.5 - 0.75 = 28;
    # figure (27.186 + 0.5 + 28) / 2 = 27.843; tip at 27.8 + 0.75 - 26.25 = 2.3
    "an archer whose clicker is measured": Situation(
        coach="A clicker that is measured and watched allows an arrow shorter than the bow's back.",
        asks="fit-check",
        sends={"archer": clicker(28, coach_checked=True), "bow": BOW, "arrow": point(27.8)},
        gives={
            "verdict": "pass",
            "minimum": q(27.187),
            "recommended": q(27.844),
            "window/longest": q(28.0),
            "draw_control/counts": "clicker",
        },
    ),
    "the same without a coach": Situation(
        coach="A shaft that ends behind the bow's face needs a coach who has watched it.",
        asks="fit-check",
        sends={"archer": clicker(28), "bow": BOW, "arrow": point(27.8)},
        # 27.8 - 26.25 - 0.236 = 1.314, 0.436 short of 1.75
        gives={"verdict": "caution", "findings/rule=shaft-behind-back/measured": q(0.436)},
    ),
    # uncontrolled: 29 past the bow's back, 26.25 + 1 + 0.2 + 0.5 = 27.95 on the rest
    "a clicker that nobody measured": Situation(
        coach="A clicker that is only claimed counts for nothing: measure the blade, then ask.",
        asks="fit-check",
        sends={
            "archer": clicker(28),
            "bow": {"kind": "recurve", "rest_position": q(0.2)},
            "arrow": {"length": q(28.5)},
        },
        gives={"verdict": "indeterminate", "draw_control/counts": "none"},
        says=("bow.clicker_range", "arrow.point.exposed_length"),
    ),
    # uncontrolled: 26.25 + 1 + 0.2 + 0.5 = 27.95 must stay on the rest, clicker or not
    "an arrow that an unmeasured clicker cannot save": Situation(
        coach="Off the rest is off the rest, whatever a clicker might do.",
        asks="fit-check",
        sends={
            "archer": clicker(28),
            "bow": {"kind": "recurve", "rest_position": q(0.2)},
            "arrow": point(26.5),
        },
        gives={"verdict": "stop"},
    ),
    # (26.686 + 0.5 + 27.45) / 2 = 27.318
    "an arrow a hair too long for the clicker": Situation(
        coach="Half a tenth too long: move the clicker, and if you must cut, stop at 27.45 in.",
        asks="recommended-length",
        sends=LONG,
        gives={
            "minimum": q(26.687),
            "window/longest": q(27.45),
            "recommended": q(27.319),
        },
        says=("move or extend the clicker", "27.45"),
        never=("26.95",),
    ),
    # D = 26.25: window to 26.25 + 0.5 - 0.75 = 26 lies below 27.186;
    # blade at 0.2 + 0.236 + 0.5 + 0.75 = 1.686
    "a clicker too near": Situation(
        coach="With the blade that near no arrow is safe: set it 1.7 in past the pivot.",
        asks="recommended-length",
        sends={
            "archer": clicker(28),
            "bow": {**BOW, "clicker_range": {"near": q(0.2), "far": q(0.5)}},
            "arrow": point(None),
        },
        gives={
            "advice": "no_common_length",
            "nearest_safe_blade": q(1.687),
            "recommended": ABSENT,
        },
    ),
    # the tip at 27 + 0.75 - 26.25 = 1.5 just leaves the blade; 27 is below 27.186
    "an arrow that reaches the clicker and not the margin": Situation(
        coach="An arrow may reach the blade and still be too short to stay on the rest.",
        asks="fit-check",
        sends={"archer": clicker(28, coach_checked=True), "bow": BOW, "arrow": point(27)},
        gives={"verdict": "stop", "minimum": q(27.187)},
    ),
    # tip at 29.5 + 0.75 - 26.25 = 4, past 2.5; without the clicker 29.5 is 0.5 past the minimum 29
    "a clicker that the tip never leaves": Situation(
        coach="The tip lies past the blade at full draw: shoot it without the clicker meanwhile.",
        asks="fit-check",
        sends={"archer": clicker(28), "bow": BOW, "arrow": point(29.5)},
        gives={
            "verdict": "caution",
            "draw_control/counts": "none",
            "findings/rule=clicker-reach/severity": "caution",
        },
        says=("move or extend the clicker",),
    ),
    "a clicker on a barebow": Situation(
        coach="Barebow competition allows no clicker; on the practice field it is no danger.",
        asks="fit-check",
        sends={
            "archer": clicker(28, coach_checked=True),
            "bow": {**BOW, "kind": "barebow"},
            "arrow": point(27.8),
        },
        gives={"verdict": "pass", "findings/rule=clicker-in-barebow/severity": "note"},
    ),
    "near and far of the clicker mixed up": Situation(
        coach="A range that runs backwards was written down wrong.",
        asks="fit-check",
        sends={
            "archer": clicker(28),
            "bow": {**BOW, "clicker_range": {"near": q(2.5), "far": q(1.5)}},
            "arrow": point(27.8),
        },
        status=422,
        gives={"errors/0/pointer": one_of("#/bow/clicker_range", "#/bow/clicker_range/near")},
        says=("reversed",),
    ),
    # the lower 95 % bound of the deviation: 30 x sqrt(4 / 9.488) = 19.5 mm, far above 6 mm
    "a clicker and five draws that vary by 30 mm": Situation(
        coach="Nobody who draws through a clicker varies by 30 mm: one of the two is not true.",
        asks="fit-check",
        sends={
            "archer": clicker(28, draw_variation=q(30, "mm"), draw_count=5, coach_checked=True),
            "bow": {**BOW, "clicker_range": {"near": q(1.5), "far": q(7)}},
            "arrow": point(32),
        },
        gives={"verdict": one_of("indeterminate", "stop")},
        says=("vary",),
    ),
    # 30 x sqrt(1 / 3.841) = 15.3 mm
    "a clicker and two draws that vary by 30 mm": Situation(
        coach="Two draws are few, but 30 mm apart they already deny the clicker.",
        asks="fit-check",
        sends={
            "archer": clicker(28, draw_variation=q(30, "mm"), draw_count=2, coach_checked=True),
            "bow": {**BOW, "clicker_range": {"near": q(1.5), "far": q(7)}},
            "arrow": point(32),
        },
        gives={"verdict": one_of("indeterminate", "stop")},
        says=("vary",),
    ),
    # 20 x sqrt(2 / 5.991) = 11.6 mm
    "a draw stop and three draws that vary by 20 mm": Situation(
        coach="A draw stop that moves by 20 mm is no stop: look at the bow.",
        asks="fit-check",
        sends={
            "archer": archer(
                28,
                draw_control="draw_stop",
                draw_variation=q(20, "mm"),
                draw_count=3,
                coach_checked=True,
            ),
            "bow": {"kind": "compound", "rest_position": q(0)},
            "arrow": {"length": q(33)},
        },
        gives={"verdict": one_of("indeterminate", "stop")},
        says=("vary",),
    ),
    # 4 x sqrt(11 / 19.675) = 3.0 mm, below 6 mm.
    # V: pooled sqrt((3 x 0.651^2 + 11 x 16) / 14) = 3.558; t(0.99865, 14) = 3.64; x sqrt(13/12):
    # 13.5 mm = 0.531 in. 26.25 + 0.531 + 0.2 + 0.5 = 27.48
    "a clicker and twelve draws that vary by 4 mm": Situation(
        coach="Twelve draws within a few millimetres are what a clicker looks like.",
        asks="fit-check",
        sends={
            "archer": clicker(28, draw_variation=q(4, "mm"), draw_count=12, coach_checked=True),
            "bow": BOW,
            "arrow": point(28),
        },
        gives={"verdict": "pass", "draw_control/counts": "clicker"},
    ),
    # 26.25 + 0.5 - 0.8 = 25.95 reaches the blade, far below 26.25 + 0.236 + 0.5 + 0.5 = 27.486
    "a clicker too near for any safe arrow": Situation(
        coach="No arrow that reaches this clicker is safe: move the clicker, never the saw.",
        asks="fit-check",
        sends={
            "archer": clicker(28),
            "bow": {
                "kind": "recurve",
                "rest_position": q(0.5),
                "clicker_range": {"near": q(-1), "far": q(0.5)},
            },
            "arrow": point(30, 0.8),
        },
        gives={"verdict": "caution", "minimum": q(29.0)},
        says=("Do not cut the arrow: one that reaches the clicker is not known to be safe",),
        never=("cut to the limit",),
    ),
    # 28.5 + 0.8 - 3 = 26.3 to the pivot, 28.05 standard: from there the tip is short of the blade
    "a blade that a growing draw leaves behind": Situation(
        coach="A growing draw pulls the tip off the blade before the arrow is too short.",
        asks="fit-check",
        sends={
            "archer": clicker(28, growth_allowance=q(0.1), coach_checked=True),
            "bow": {
                "kind": "recurve",
                "rest_position": q(0),
                "clicker_range": {"near": q(3), "far": q(4)},
            },
            "arrow": point(28.5, 0.8),
        },
        gives={
            "verdict": "caution",
            "longest_safe_draw": Between(28.05, 28.06, "in"),
            "findings/rule=outgrown-control/limit": q(28.05),
        },
    ),
    # 26.25 + 3 - 0.8 = 28.45 reaches the blade; without it 29.0: between, nothing is safe
    "a cut past lengths that nobody may draw": Situation(
        coach="Between 28.45 and 29 in the arrow is not safe: cut past that in one go.",
        asks="recommended-length",
        sends={
            "archer": clicker(28, growth_allowance=q(0)),
            "bow": {
                "kind": "recurve",
                "rest_position": q(0.5),
                "clicker_range": {"near": q(1), "far": q(3)},
            },
            "arrow": point(30, 0.8),
        },
        gives={
            "advice": "cut_to",
            "window/longest": q(28.45),
            "minimum_without_clicker": q(29.0),
            "checked_length": q(28.45),
        },
        says=("in one go",),
    ),
    # 26.25 + 2.04 - 0.8 = 27.49, 0.003 in above 27.486
    "a clicker that asks for the very minimum": Situation(
        coach="Two and a half inches off for a clicker that sits too near? Extend the clicker.",
        asks="recommended-length",
        sends={
            "archer": clicker(28, growth_allowance=q(0)),
            "bow": {
                "kind": "recurve",
                "rest_position": q(0.5),
                "clicker_range": {"near": q(-1), "far": q(2.04)},
            },
            "arrow": point(30, 0.8),
        },
        gives={"advice": "leave_uncut"},
        says=("Move or extend the clicker. Do not cut the arrow",),
    ),
    "a first evening with a clicker": Situation(
        coach="Nobody cuts for a first evening, clicker or not.",
        asks="recommended-length",
        sends={
            "archer": clicker(26, experience="first_evenings"),
            "bow": {
                "kind": "recurve",
                "rest_position": q(0.5),
                "clicker_range": {"near": q(1), "far": q(4)},
            },
            "arrow": point(32, 0.8),
        },
        gives={"advice": "leave_uncut"},
    ),
    # 25 + 3 growth + 2 past the bow: the blade is not counted on
    "a season of growth at the clicker": Situation(
        coach="A set that must last a growing archer's season is bought without the clicker.",
        asks="kit/lengths",
        sends={
            "archers": [
                {
                    "id": "Jette",
                    "archer": clicker(25),
                    "bow": {
                        "kind": "recurve",
                        "rest_position": q(0.5),
                        "clicker_range": {"near": q(1.5), "far": q(3)},
                    },
                }
            ],
            "arrow": {"point": {"exposed_length": q(0.8)}},
            "season": {"growth_rate": q(3), "months": 12},
            "arrows_per_archer": 6,
            "most_lengths": 1,
        },
        gives={"lengths/0/length": q(30.0)},
    ),
}
