"""How the club's software asks: many at once, wrong figures, missing words."""

from __future__ import annotations

from typing import Final

from builders.wire import Body, archer, bow, q
from season.parts import RECURVE, check
from season.situation import ABSENT, Situation

WHOLE: Final[Body] = {"length": q(30)}
DOUBTFUL: Final[Body] = check(archer(28, draw_control="clicker"), q(28.95))

SITUATIONS: Final = {
    "an evening's list with one bad line": Situation(
        coach="One bad line spoils nothing for the others.",
        asks="fit-check/batch",
        sends={
            "items": [
                {"id": "Runa", **check(archer(28), q(30.5))},
                {"id": "Ekke", **check({"draw_length": q(28)}, q(30))},
                {"id": "Bram", **check(archer(28), q(28.5))},
            ]
        },
        gives={
            "items/id=Runa/result/verdict": "pass",
            "items/id=Ekke/status": 422,
            "items/id=Ekke/result": ABSENT,
            "items/id=Bram/result/verdict": "stop",
            "items/id=Bram/result/minimum": q(29.0),
        },
    ),
    "doubt in a list": Situation(
        coach="Where the answer is that nobody knows, it says what is missing.",
        asks="fit-check/batch",
        sends={"items": [{"id": "Runa", **DOUBTFUL}]},
        gives={
            "items/0/result/verdict": "indeterminate",
            "items/0/result/findings/0/severity": "indeterminate",
        },
        says=("bow.clicker_range",),
    ),
    "doubt in short": Situation(
        coach="The short answer names the reason for its doubt too.",
        asks="fit-check",
        sends={**DOUBTFUL, "detail": "verdict"},
        gives={
            "verdict": "indeterminate",
            "findings/0/severity": "indeterminate",
            "not_told": ABSENT,
        },
        says=("bow.clicker_range",),
    ),
    "a misspelt field": Situation(
        coach="A word that is not known is pointed at, or a growth would go unseen.",
        asks="fit-check",
        sends=check(archer(28, growth_alowance=q(1)), q(30)),
        status=422,
        gives={"errors/0/pointer": "#/archer/growth_alowance"},
    ),
    "a bare number": Situation(
        coach="28 may be inches or centimetres: say which.",
        asks="fit-check",
        sends=check({"draw_length": 28, "draw_length_convention": "standard"}, q(30)),
        status=422,
        gives={"errors/0/pointer": "#/archer/draw_length"},
    ),
    "a length in grains": Situation(
        coach="Grains measure mass.",
        asks="fit-check",
        sends=check(archer(28), q(30, "gr")),
        status=422,
        gives={"errors/0/pointer": "#/arrow/length/unit"},
        says=("gr measures mass",),
    ),
    "a coach says it was watched": Situation(
        coach="A coach's eye takes away the caution about the bow's back, never the minimum.",
        asks="fit-check",
        sends=check(archer(28, coach_checked=True), q(28.5)),
        gives={"verdict": "stop", "minimum": q(29.0)},
    ),
    "two things wrong at once": Situation(
        coach="A proven danger is told even where something else is not known.",
        asks="fit-check",
        sends={
            "archer": archer(28, draw_control="clicker"),
            "bow": {**bow(60), "minimum_arrow_mass": q(350, "gr")},
            "arrow": {"length": q(28.95), "mass": q(280, "gr")},
        },
        gives={
            "verdict": "stop",
            "findings/rule=maker-arrow-mass/severity": "stop",
            "findings/severity=indeterminate/rule": "minimum-length",
        },
    ),
    "no bow": Situation(
        coach="Without a bow there is nothing to check the arrow against.",
        asks="fit-check",
        sends={"archer": archer(28), "arrow": WHOLE},
        status=422,
        gives={"errors/0/pointer": "#/bow"},
    ),
    "an answer in millimetres": Situation(
        coach="Tell the same in millimetres to who measures in them: 29 in is 736.6.",
        asks="minimum-length",
        sends={"archer": archer(28), "bow": RECURVE, "report_in": {"length": "mm"}},
        gives={"minimum": q(736.6, "mm")},
    ),
    # 28.3333 + 1 = 29.3333, up
    "a third of an inch": Situation(
        coach="Round a minimum up: 29.334 in.",
        asks="minimum-length",
        sends={"archer": archer(28 + 1 / 3), "bow": RECURVE},
        gives={"minimum": {"value": 29.334, "unit": "in"}},
    ),
}
