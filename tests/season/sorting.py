"""The box of leftovers: what still makes a set.

1/16 in and 5 grains within one set are common practice, without a source.
"""

from __future__ import annotations

from typing import Any, Final

from builders.wire import Body, archer, q
from season.parts import RECURVE
from season.situation import ABSENT, Situation


def box(*arrows: Body, size: int = 3, **more: Any) -> dict[str, Any]:
    return {
        "asks": "kit/sets",
        "sends": {"arrows": list(arrows), "arrows_per_set": size, **more},
    }


def weighed(name: str, length: float, grains: float, **more: Any) -> Body:
    return {"id": name, "length": q(length), "mass": q(grains, "gr"), **more}


SITUATIONS: Final = {
    # 28.5 to 28.55 is 0.05, less than 0.0625 in; 350 to 354 is 4, less than 5 gr
    "three that belong together and two that do not": Situation(
        coach="Make a set of what is alike. The shortest arrow decides how far it may be drawn.",
        **box(
            weighed("a", 28.55, 350),
            weighed("long", 30, 352),
            weighed("b", 28.5, 354),
            weighed("heavy", 28.5, 380),
            weighed("c", 28.52, 351),
        ),
        gives={
            "sets/0/shortest_length": q(28.5),
            "sets/0/shortest_arrow/id": "b",
            "sets/1": ABSENT,
            "most_sets": 1,
            "left_over/0/id": "long",
            "left_over/1/id": "heavy",
        },
    ),
    # 350 + 4 = 354 + 4 = 358: a with b, b with c, but 358 - 350 = 8
    "neighbours are no set": Situation(
        coach="Each is like the next, but the first is not like the last.",
        **box(weighed("a", 28, 350), weighed("b", 28, 354), weighed("c", 28, 358)),
        gives={"sets/0": ABSENT, "incomplete/0/needed": 1},
    ),
    # 346 to 350 and 351 to 355 are 4 gr each; 350 to 353 first would leave 346, 348 and 355
    "two sets where a careless hand makes one": Situation(
        coach="Do not begin in the middle of the heap.",
        **box(
            *(
                weighed(name, 28, grains)
                for name, grains in zip("abcdef", (346, 348, 350, 351, 353, 355), strict=True)
            )
        ),
        gives={"sets/0/arrows/0/id": "a", "sets/1/arrows/2/id": "f", "most_sets": 2},
    ),
    "an arrow that nobody weighed": Situation(
        coach="Weigh it. Until then it is in no set.",
        **box(
            weighed("a", 28, 350),
            weighed("b", 28, 351),
            {"id": "c", "length": q(28)},
        ),
        gives={"sets/0": ABSENT, "unplaced/0/id": "c", "unplaced/0/fields/0": "mass"},
    ),
    "two kinds of shaft": Situation(
        coach="The same length and mass, but two shafts: never in one set.",
        **box(
            weighed("a", 28, 350, kind="lake 700"),
            weighed("b", 28, 350, kind="lake 700"),
            weighed("c", 28, 350, kind="heath 650"),
        ),
        gives={"sets/0": ABSENT, "incomplete/0/needed": 1},
    ),
    # 27.5 + 1 = 28.5: one arrow of 28 keeps the set from Runa
    "one short arrow keeps a set from an archer": Situation(
        coach="Set the short one aside, and she shoots the rest.",
        asks="kit/assignments",
        sends={
            "archers": [{"id": "Runa", "archer": archer(27.5), "bow": RECURVE}],
            "sets": [
                {"id": "red", "arrow": {"length": q(28)}, "count": 7, "next_shortest": q(29.5)},
                {"id": "few", "arrow": {"length": q(28)}, "count": 6, "next_shortest": q(31)},
                {"id": "blue", "arrow": {"length": q(28.2)}, "count": 9},
            ],
            "arrows_per_archer": 6,
        },
        gives={
            "unequipped/0/reason": "too_short",
            "unequipped/0/without_shortest/set": "red",
            "unequipped/0/without_shortest/shortest_length": q(29.5),
            "unequipped/0/without_shortest/verdict": "pass",
        },
    ),
    "without its shortest arrow still too short": Situation(
        coach="Then there is nothing to gain from it.",
        asks="kit/assignments",
        sends={
            "archers": [{"id": "Runa", "archer": archer(29), "bow": RECURVE}],
            "sets": [
                {"id": "red", "arrow": {"length": q(28)}, "count": 7, "next_shortest": q(29.5)},
            ],
            "arrows_per_archer": 6,
        },
        gives={"unequipped/0/without_shortest": ABSENT, "unequipped/0/would_need": q(30.0)},
    ),
    "a shortest but one that is shorter": Situation(
        coach="That cannot be: measure again.",
        asks="kit/assignments",
        sends={
            "archers": [{"id": "Runa", "archer": archer(29), "bow": RECURVE}],
            "sets": [{"id": "red", "arrow": {"length": q(28)}, "count": 7, "next_shortest": q(27)}],
            "arrows_per_archer": 6,
        },
        status=422,
        gives={"errors/0/pointer": "#/sets/0/next_shortest"},
    ),
    "a short arrow in a good set": Situation(
        coach="Set the short arrow aside, and the set serves half an inch more draw.",
        asks="kit/consistency",
        sends={
            "arrows": [
                weighed("a", 28.5, 350),
                weighed("short", 28, 349),
                weighed("b", 28.5, 351),
            ]
        },
        gives={
            "shortest_length": q(28.0),
            "without_shortest/set_aside/id": "short",
            "without_shortest/shortest_length": q(28.5),
            "without_shortest/gain": q(0.5),
        },
    ),
}
