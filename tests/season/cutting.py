"""Cut plans: when to cut, when to shoot again and when to leave the saw alone.

The archer has a practised draw of 27.5 in that no longer grows: minimum 27.5 + 1 = 28.5 in,
recommended 27.5 + 1.5 = 29 in. Bare shafts on the string hand's side act weak (finger release,
common practice, no source). An offset is positive on the weak side.
"""

from __future__ import annotations

from typing import Any, Final

from builders.wire import Body, archer, bow, q
from season.situation import ABSENT, Between, Situation, one_of

PRACTISED: Final[Body] = archer(27.5, growth_allowance=q(0), experience="practised")
ARROW: Final[Body] = {
    "shaft": {"static_spine": q(700, "astm"), "mass_per_length": q(6.2, "gr/in")},
    "point": {"mass": q(90, "gr")},
    "nock": {"mass": q(8, "gr"), "projection": q(0.4)},
}


def shot(length: float, offset: float | None, **more: Any) -> Body:
    """A round at 18 m by its offset [cm]."""
    given = {} if offset is None else {"offset": q(offset, "cm")}
    return {
        "length": q(length),
        **given,
        "distance": q(18, "m"),
        "bare_count": 3,
        "fletched_count": 3,
        "group_width": q(10, "cm"),
        **more,
    }


def plan(length: float, *shots: Body, who: Body = PRACTISED, **more: Any) -> dict[str, Any]:
    return {
        "asks": "cut-plan",
        "sends": {
            "archer": who,
            "bow": bow(32),
            "arrow": {"length": q(length), **ARROW},
            **({"shots": list(shots)} if shots else {}),
            **more,
        },
    }


def handed(hand: str | None, release: str | None = "fingers") -> Body:
    return PRACTISED | {
        name: value
        for name, value in (("string_hand", hand), ("release", release))
        if value is not None
    }


NEAR_CLICKER: Final[Body] = {
    "archer": PRACTISED | {"draw_control": "clicker"},
    "bow": {**bow(32), "rest_position": q(1), "clicker_range": {"near": q(0), "far": q(1)}},
    "arrow": {"length": q(31), **ARROW, "point": {"mass": q(90, "gr"), "exposed_length": q(1)}},
}


SITUATIONS: Final = {
    # The blade's end: 25.75 + 1 - 1 = 25.75 in; safe from 25.75 + 0.236 + 1 + 0.5 = 27.486 in
    "weak shots, and a clicker that no safe arrow reaches": Situation(
        coach="Move the clicker first. Then see what length it wants.",
        asks="cut-plan",
        sends={**NEAR_CLICKER, "shots": [shot(31, 20), shot(31, 20)]},
        gives={"decision": "stop_here", "next_length": ABSENT},
        says=("Move or extend the clicker before any cut.",),
    ),
    "nothing shot, and a clicker that no safe arrow reaches": Situation(
        coach="Move the clicker first. Then see what length it wants.",
        asks="cut-plan",
        sends=NEAR_CLICKER,
        gives={"decision": "shoot_again", "next_length": ABSENT},
        says=("Move or extend the clicker before any cut.",),
    ),
    # 31 to 29 in centimetres at most: 50.8 mm
    "new shafts, nothing shot yet": Situation(
        coach="Come down to 29 in a centimetre at a time, and shoot at each step.",
        **plan(31),
        gives={
            "decision": "cut",
            "minimum": q(28.5),
            "recommended": q(29.0),
            "steps/0/length": q(30.607),
            "steps/0/tube_length": q(30.207),
            "steps/0/may_be_shot": True,
            "steps/-1/length": q(29.0),
            "steps/-1/may_be_shot": True,
        },
        says=("a cut cannot be undone", "respirator"),
    ),
    "shafts at their recommended length": Situation(
        coach="At 29 in put the saw away.",
        **plan(29),
        gives={
            "decision": one_of("at_the_floor", "shoot_again", "stop_here"),
            "next_length": ABSENT,
            "steps": [],
        },
    ),
    "weak bare shafts from long arrows": Situation(
        coach="Far to the weak side twice, and 2 in still to go: cut some, and shoot again.",
        **plan(31, shot(31.5, 30), shot(31, 27)),
        gives={
            "decision": "cut",
            "next_length": Between(29.0, 30.999, "in"),
            "probability_too_far": Between(0, 0.02),
            "set_may_follow": False,
        },
    ),
    "weak bare shafts at the recommended length": Situation(
        coach="Still weak at 29 in: change the point or the bow, never go below 29 for it.",
        **plan(29, shot(29.5, 25), shot(29, 25), shot(29, 25)),
        gives={
            "decision": "at_the_floor",
            "next_length": ABSENT,
            "steps": [],
            "remedies/0/kind": "point_mass",
        },
    ),
    # first 0.6 of what is left: 0.15
    "a wanted length below the recommended one": Situation(
        coach="Who insists on 28.75 in may have it: above the minimum, and told what it costs.",
        **plan(29, cutting={"wanted_length": q(28.75)}),
        gives={
            "decision": "cut",
            "next_length": q(28.85),
            "steps/-1/length": q(28.75),
            "minimum": q(28.5),
        },
        says=("a cut cannot be undone: compare it with",),
    ),
    "a wanted length below the minimum": Situation(
        coach="No wish takes an arrow below its minimum of 28.5 in.",
        **plan(29, cutting={"wanted_length": q(27)}),
        gives={
            "minimum": q(28.5),
            "next_length": one_of(ABSENT, Between(28.5, 29, "in")),
            "steps/-1/length": one_of(ABSENT, Between(28.5, 29, "in")),
        },
        says=("The wanted length is too short to be safe",),
    ),
    "a wanted length above the arrow's": Situation(
        coach="A saw makes nothing longer.",
        **plan(29, cutting={"wanted_length": q(30)}),
        status=422,
        gives={"errors/0/pointer": "#/cutting/wanted_length"},
    ),
    "stiff bare shafts": Situation(
        coach="Stiff already: a cut makes it worse, and no junior gets 5 lb more to mend it.",
        **plan(31, shot(31, -20), shot(31, -22)),
        gives={
            "decision": "already_too_stiff",
            "next_length": ABSENT,
            "remedies/kind=draw_weight/draw_weight_change": one_of(
                ABSENT, Between(0.01, 2.0, "lbf")
            ),
        },
        says=("if a coach agrees",),
    ),
    "a side without a hand": Situation(
        coach="Left of the group is weak for one hand and stiff for the other: ask which.",
        **plan(31, shot(31, 20, side="left")),
        status=422,
        gives={
            "errors/0/pointer": "#/archer/string_hand",
            "errors/1/pointer": "#/archer/release",
        },
    ),
    "a left-hander's weak arrows": Situation(
        coach="For a left hand, bare shafts to the left are weak: they may come down.",
        **plan(
            31,
            shot(31.5, 30, side="left"),
            shot(31, 27, side="left"),
            who=handed("left"),
        ),
        gives={"decision": "cut", "next_length": Between(29.0, 30.999, "in")},
    ),
    "a right-hander's stiff arrows": Situation(
        coach="The same picture from a right hand is stiff: leave the saw alone.",
        **plan(31, shot(31, 20, side="left"), shot(31, 21, side="left"), who=handed("right")),
        gives={"decision": "already_too_stiff", "next_length": ABSENT},
    ),
    # by the right hand -40, -25, -10 cm: stiffer at 31 in than at 29.5, which no arrow is
    "the wrong hand in the form": Situation(
        coach="Arrows that act weaker as they get shorter mean the wrong hand in the form.",
        **plan(
            29.5,
            shot(31, 40, side="left"),
            shot(30.25, 25, side="left"),
            shot(29.5, 10, side="left"),
            who=handed("right"),
        ),
        gives={"decision": "indeterminate", "next_length": ABSENT},
        says=("right string hand",),
    ),
    "a side from a thumb ring": Situation(
        coach="With a thumb ring a side says nothing of weak or stiff.",
        **plan(31, shot(31, 20, side="left"), who=handed("right", "thumb")),
        gives={"decision": "indeterminate", "next_length": ABSENT},
        says=("only with a finger release",),
    ),
    "a side from a release aid": Situation(
        coach="With a release aid a side says nothing of weak or stiff either.",
        **plan(31, shot(31, 20, side="right"), who=handed("right", "aid")),
        gives={"decision": "indeterminate", "next_length": ABSENT},
    ),
    "a side and no ruler": Situation(
        coach="Left of the group, no idea how far: that much may be learned from, and no more.",
        **plan(31, shot(31, None, side="left"), who=handed("left")),
        gives={
            "decision": one_of("cut", "shoot_again", "stop_here"),
            "next_length": one_of(ABSENT, Between(30.6, 30.999, "in")),
        },
    ),
    "twenty to the stiff side, then twenty-two to the weak": Situation(
        coach="Forty centimetres apart at one length is a bad round: shoot again.",
        **plan(31, shot(31, -20), shot(31, 22)),
        gives={"decision": "shoot_again", "next_length": ABSENT},
    ),
    "a new string between the rounds": Situation(
        coach="After a new string the old rounds no longer count.",
        **plan(31, shot(31.5, 30), shot(31, 25), shot(31, 25, setup="new string")),
        gives={"reading/rounds": 1, "reading/set_aside": 2, "reading/setup": "new string"},
    ),
    "a heavier point since the last rounds": Situation(
        coach="Rounds with another point tell nothing of this one: label them as another setup.",
        **plan(
            31,
            shot(31.5, 30, point_mass=q(110, "gr")),
            shot(31, 27, point_mass=q(110, "gr")),
        ),
        gives={"decision": "indeterminate", "next_length": ABSENT},
        says=("`setup`",),
    ),
    "a heavier point, labelled": Situation(
        coach="With its own label a change of point is no trouble: the old rounds are put aside.",
        **plan(
            31,
            shot(31.5, 30, point_mass=q(110, "gr"), setup="110 gr"),
            shot(31, 27, point_mass=q(90, "gr"), setup="90 gr"),
        ),
        gives={"reading/rounds": 1, "reading/set_aside": 1},
    ),
    "eighteen metres": Situation(
        coach="Shot at 18 m is told as 18 m, though the arrow is in inches.",
        **plan(31, shot(31.5, 30), shot(31, 27)),
        gives={"reading/distance": q(18.0, "m")},
    ),
    "only the arm span is known": Situation(
        coach="Never cut by an arm span: measure the draw.",
        **plan(32, who={"arm_span": q(66)}),
        gives={"decision": "indeterminate", "next_length": ABSENT, "steps": []},
        says=("measure the draw",),
    ),
    "an offset of five metres": Situation(
        coach="An arrow that lands 2 m away at 18 m was no test of its length.",
        **plan(31, shot(31, 200)),
        gives={"decision": one_of("indeterminate", "shoot_again"), "next_length": ABSENT},
    ),
    "a saw that cuts to a quarter inch": Situation(
        coach="On a scale of quarter inches every step stands on a mark.",
        **plan(31, saw_increment=q(0.25)),
        gives={
            "decision": "cut",
            "steps/0/length": one_of(q(30.75), q(30.5)),
            "steps/-1/length": q(29.0),
        },
    ),
    "nothing known of the growth": Situation(
        coach="Where the draw may still grow, nothing is cut before shooting asks for it.",
        **plan(31, who=archer(27.5)),
        gives={"decision": "shoot_again", "next_length": ABSENT},
    ),
    "stated growth": Situation(
        coach="A growing archer's shafts stay long, however weak they fly.",
        **plan(31, shot(31.5, 30), shot(31, 27), who=archer(27.5, growth_allowance=q(0.5))),
        gives={"next_length": ABSENT, "steps": []},
    ),
    # an explicit wish counts, down to the minimum of 27.5 + 0.5 + 1 = 29 in
    "stated growth and a wanted length": Situation(
        coach="Who insists on 30 in for a growing archer may have it, and is told what it costs.",
        **plan(
            31,
            who=archer(27.5, growth_allowance=q(0.5)),
            cutting={"wanted_length": q(30)},
        ),
        gives={"decision": "cut", "steps/-1/length": q(30.0), "minimum": q(29.0)},
        says=("a cut cannot be undone: compare it with",),
    ),
}
