"""Who shoots which set tonight, labels for the rack, and the odd arrow in a set.

Where nothing controls the draw, an arrow serves draws up to an inch less than its length.
"""

from __future__ import annotations

from typing import Any, Final

from builders.wire import Body, archer, bow, q
from season.parts import RECURVE
from season.situation import ABSENT, Situation


def waits(name: str, draw: float, **more: Any) -> Body:
    return {"id": name, "archer": archer(draw), "bow": RECURVE, **more}


def hangs(name: str, length: float, count: int = 6, **more: Any) -> Body:
    return {"id": name, "arrow": {"length": q(length)}, "count": count, **more}


def assign(*parts: Body, **more: Any) -> dict[str, Any]:
    archers = [part for part in parts if "archer" in part]
    sets = [part for part in parts if "arrow" in part]
    return {
        "asks": "kit/assignments",
        "sends": {"archers": archers, "sets": sets, "arrows_per_archer": 6, **more},
    }


def alike(*arrows: Body) -> dict[str, Any]:
    return {"asks": "kit/consistency", "sends": {"arrows": list(arrows)}}


def weighed(length: float, grains: float, **more: Any) -> Body:
    return {"length": q(length), "mass": q(grains, "gr"), **more}


SITUATIONS: Final = {
    # 27 + 1 = 28: the short set has no margin, the long one 1.5 in
    "two sets free, one of them just long enough": Situation(
        coach="Hand out the set that passes, not the one that is only just long enough.",
        **assign(waits("Runa", 27), hangs("short", 28), hangs("long", 29.5)),
        gives={
            "assignments/archer=Runa/set": "long",
            "assignments/archer=Runa/verdict": "pass",
            "assignments/archer=Runa/margin": q(1.5),
        },
    ),
    # 27 + 1 = 28: 29.5 in passes for both
    "one good set and two details": Situation(
        coach="They shoot one after the other: collect and look at the arrows, then hand them on.",
        **assign(
            waits("Runa", 27, detail="first"),
            waits("Ekke", 27, detail="second"),
            hangs("long", 29.5),
        ),
        gives={
            "equipped": 2,
            "assignments/archer=Runa/shared_with": ["Ekke"],
            "assignments/archer=Ekke/set": "long",
        },
    ),
    "one good set and two archers at once": Situation(
        coach="Side by side they cannot shoot the same arrows: one of them waits.",
        **assign(
            waits("Runa", 27, detail="first"),
            waits("Ekke", 27, detail="first"),
            hangs("long", 29.5),
        ),
        gives={"equipped": 1, "unequipped/archer=Ekke/reason": "sets_taken"},
    ),
    "a set that has lost two arrows": Situation(
        coach="Four arrows will do for an evening, and whoever came first gets six.",
        **assign(
            waits("Runa", 27),
            waits("Ekke", 27),
            hangs("a", 29.5, 4),
            hangs("b", 29.5),
            least_arrows=4,
        ),
        gives={
            "equipped": 2,
            "assignments/archer=Runa/arrows": 6,
            "assignments/archer=Ekke/set": "a",
            "assignments/archer=Ekke/arrows": 4,
        },
    ),
    # 26 + 1 = 27; on a first evening half an inch more than 27.5 still asks for care
    "two sets free on a first evening": Situation(
        coach="On a first evening the long set, though the short one might do.",
        **assign(
            {"id": "Runa", "archer": archer(26, experience="first_evenings"), "bow": RECURVE},
            hangs("short", 27.6),
            hangs("long", 29.5),
        ),
        gives={
            "assignments/archer=Runa/set": "long",
            "assignments/archer=Runa/verdict": "pass",
        },
    ),
    "only the set that is just long enough": Situation(
        coach="If nothing else hangs there, the archer shoots it under an eye.",
        **assign(waits("Runa", 27), hangs("short", 28)),
        gives={
            "assignments/archer=Runa/verdict": "caution",
            "assignments/archer=Runa/margin": q(0.0),
        },
    ),
    # Runa can shoot both, Ekke only the long one: 29 + 1 = 30
    "the long arm needs the long set": Situation(
        coach="Give the long set to the one who can shoot nothing else.",
        **assign(waits("Runa", 26), waits("Ekke", 29), hangs("long", 30.5), hangs("short", 28)),
        gives={
            "assignments/archer=Runa/set": "short",
            "assignments/archer=Ekke/set": "long",
        },
    ),
    "two archers and one set": Situation(
        coach="Who came first gets it, and the other one hears what would do.",
        **assign(waits("Runa", 27), waits("Ekke", 27), hangs("red", 29)),
        gives={
            "assignments/archer=Runa/set": "red",
            "unequipped/archer=Ekke/reason": "sets_taken",
            "unequipped/archer=Ekke/would_need": q(28.0),
        },
    ),
    # 70 / 2.5 = 28; 28 + 4 + 1 = 33
    "an archer of whom only the arm span is known": Situation(
        coach="For arms of 70 in hand out the long test arrows, and watch.",
        **assign(
            {"id": "Runa", "archer": {"arm_span": q(70)}, "bow": RECURVE},
            hangs("red", 30),
            hangs("test", 34),
        ),
        gives={
            "assignments/archer=Runa/set": "test",
            "assignments/archer=Runa/verdict": "caution",
        },
    ),
    "a dozen for two": Situation(
        coach="A dozen arrows serve two archers with six each.",
        **assign(waits("Runa", 27), waits("Ekke", 27), hangs("red", 29, 12)),
        gives={
            "assignments/archer=Runa/set": "red",
            "assignments/archer=Ekke/set": "red",
            "unequipped": [],
        },
    ),
    "one arrow broke": Situation(
        coach="Five are not six: mend one or shoot five.",
        **assign(waits("Runa", 27), hangs("red", 29, 5)),
        gives={"unequipped/archer=Runa/reason": "too_few_arrows"},
    ),
    "nothing long enough": Situation(
        coach="For a draw of 30 in nobody takes arrows of 29: find 31.",
        **assign(waits("Bram", 30), hangs("red", 29)),
        gives={
            "assignments": [],
            "unequipped/archer=Bram/reason": "too_short",
            "unequipped/archer=Bram/would_need": q(31.0),
        },
    ),
    "nocks that do not fit the string": Situation(
        coach="A nock that is not known to fit the string is not used.",
        **assign(waits("Runa", 27, asked={"nock_size": "small"}), hangs("red", 29)),
        gives={"unequipped/archer=Runa/reason": "not_as_asked"},
    ),
    "nocks that fit": Situation(
        coach="Take the set whose nocks fit, even if the other one is longer.",
        **assign(
            waits("Runa", 27, asked={"nock_size": "small"}),
            hangs("red", 29),
            hangs("blue", 28.5, nock_size="small"),
        ),
        gives={"assignments/archer=Runa/set": "blue"},
    ),
    # 160 - 15 = 145 gr, below 5 grains a pound of 30 lbf: 150
    "one light arrow among the heavy": Situation(
        coach="The lightest arrow of a set decides: 145 gr is too light for 30 lb.",
        **assign(
            waits("Runa", 26, bow=bow(30)),
            {
                "id": "red",
                "arrow": {"length": q(29), "mass": q(160, "gr")},
                "mass_spread": q(15, "gr"),
                "count": 6,
            },
        ),
        gives={
            "assignments": [],
            "unequipped/archer=Runa/reason": "stopped",
            "unequipped/archer=Runa/findings/rule=arrow-mass/measured": q(145.0, "gr"),
        },
    ),
    # 28.4 - 1 = 27.4, down to a quarter: 27.25. 711 mm = 27.992 in: 26.992, down to 26.75
    "labels for the rack": Situation(
        coach="Round what stands on a label down: 27.25 in for arrows of 28.4.",
        asks="kit/labels",
        sends={
            "sets": [
                {"id": "red", "arrow": {"length": q(28.4)}},
                {"id": "blue", "arrow": {"length": q(711, "mm")}},
            ],
            "bow": RECURVE,
            "label_increment": q(0.25),
        },
        gives={
            "labels/set=red/label": q(27.25),
            "labels/set=blue/label": q(26.75),
            "labels/set=blue/longest_safe_draw": q(26.992),
        },
    ),
    "a label for weak shafts on a heavy bow": Situation(
        coach="Shafts that may break on this bow get no label at all.",
        asks="kit/labels",
        sends={
            "sets": [
                {
                    "id": "red",
                    "arrow": {
                        "length": q(30),
                        "shaft": {
                            "static_spine": q(1000, "astm"),
                            "mass_per_length": q(8, "gr/in"),
                        },
                        "point": {"mass": q(100, "gr")},
                    },
                }
            ],
            "bow": bow(60),
        },
        gives={"labels/set=red/label": ABSENT, "labels/set=red/longest_safe_draw": ABSENT},
    ),
    "a name twice on the list": Situation(
        coach="Two archers of one name get mixed up: give each her own.",
        **assign(waits("Runa", 27), waits("Runa", 28), hangs("red", 29, 12)),
        status=422,
        gives={"errors/0/pointer": "#/archers/0/id", "errors/1/pointer": "#/archers/1/id"},
    ),
    "a cut-down arrow among the others": Situation(
        coach="Take the short one out: it decides how far the whole set may be drawn.",
        **alike(
            weighed(28.5, 352, id="1"),
            weighed(28.5, 353, id="2"),
            weighed(28, 352, id="3"),
            weighed(28.5, 351, id="4"),
        ),
        gives={
            "shortest_length": q(28.0),
            "shortest_arrow/id": "3",
            "odd/field=length/id": "3",
            "odd/field=length/typical": q(28.5),
            "odd/field=mass": ABSENT,
        },
    ),
    # range 2 in; mean 29, squares 1 + 0.25 + 0 + 0.25 + 1 = 2.5 over four: 0.791 in
    "a bucket of arrows from 28 to 30 inches": Situation(
        coach="Arrows from 28 to 30 in are no set: sort the bucket.",
        **alike(*(weighed(length, 350) for length in (28, 28.5, 29, 29.5, 30))),
        gives={
            "spread/field=length/range": q(2.0),
            "spread/field=length/standard_deviation": q(0.791),
            "spread/field=length/usual": False,
            "odd/index=0/field": "length",
            "odd/index=4/field": "length",
        },
        says=("sort them",),
    ),
    "two arrows of different lengths": Situation(
        coach="Of two arrows nobody can say which is the odd one: say that they differ.",
        **alike({"length": q(28)}, {"length": q(30)}),
        gives={"odd": [], "shortest_length": q(28.0), "spread/field=length/range": q(2.0)},
        says=("sort them",),
    ),
    "one light arrow in the set": Situation(
        coach="Eight grains less than the others: a vane or a point is not the same.",
        **alike(*(weighed(28.5, grains) for grains in (352, 351, 352, 344))),
        gives={
            "odd/index=3/field": "mass",
            "odd/field=mass/typical": q(351.5, "gr"),
            "spread/field=mass/range": q(8.0, "gr"),
            "spread/field=mass/usual": False,
        },
    ),
    "a matched dozen": Situation(
        coach="Within a sixteenth and 2 grains: that is a set.",
        **alike(*(weighed(28.5, 350 + each % 3) for each in range(12))),
        gives={
            "odd": [],
            "spread/field=mass/range": q(2.0, "gr"),
            "spread/field=mass/usual": True,
            "spread/field=length/usual": True,
        },
        never=("sort them",),
    ),
    # 500 acts 20 % stiffer than 600: more than 5 % of stiffness
    "a stiffer shaft among the others": Situation(
        coach="A 500 among 600s flies to another place: take it out.",
        **alike(
            *(
                {"length": q(28.5), "static_spine": q(spine, "astm")}
                for spine in (600, 600, 600, 500)
            )
        ),
        gives={"odd/index=3/field": "static_spine", "odd/index=3/limit_percent": 5.0},
    ),
    "nobody measured one of them": Situation(
        coach="An arrow that nobody measured may be the shortest.",
        **alike({"length": q(28.5)}, {"length": q(28.5)}, {"mass": q(350, "gr")}),
        gives={
            "status": "indeterminate",
            "shortest_length": ABSENT,
            "shortest_length_at_most": q(28.5),
        },
    ),
}
