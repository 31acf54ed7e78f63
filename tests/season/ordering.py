"""Order sheets: what the shop cuts, and what it leaves alone.

The tube is what the saw sees: the arrow length less the part of the nock that stands out.
"""

from __future__ import annotations

from typing import Any, Final

from builders.wire import Body, archer, q
from season.parts import RECURVE
from season.situation import ABSENT, Situation

SETTLED: Final[Body] = archer(28, growth_allowance=q(0), experience="practised")


def order(**changes: Any) -> dict[str, Any]:
    """A dozen shafts of 32 in for one archer, nocks that stand out 0.4 in."""
    one = {
        "id": "Imke",
        "shaft": "reed 700",
        "shafts": 12,
        "archer": SETTLED,
        "bow": RECURVE,
        "arrow": {"nock": {"projection": q(0.4)}},
        "stock_length": q(32),
    }
    kept = {name: value for name, value in (one | changes).items() if value is not None}
    return {"asks": "order", "sends": {"sets": [kept]}}


SITUATIONS: Final = {
    # 26 + 1 = 27 is the minimum: 27.25 lies in the caution band above it, 26.5 below it, and
    # 26.5 - 1 = 25.5 is the draw that it will do for
    "a parcel with short arrows": Situation(
        coach="Two came short: one will do if I watch, one goes to a smaller archer. Cut none.",
        asks="delivery",
        sends={
            "sets": [
                {
                    "id": "Runa",
                    "archer": archer(26),
                    "bow": RECURVE,
                    "ordered_length": q(28),
                    "arrived": [q(28), q(28.03), q(27.25), q(26.5), q(28.5)],
                }
            ]
        },
        gives={
            "shorter": 2,
            "not_to_be_shot": 1,
            "sets/0/as_ordered": 2,
            "sets/0/longer": 1,
            "sets/0/minimum": q(27.0),
            "sets/0/shortest_length": q(26.5),
            "sets/0/longest_safe_draw": q(25.5),
            "sets/0/arrows/1/against_order": "as_ordered",
            "sets/0/arrows/2/verdict": "caution",
            "sets/0/arrows/2/use": "shoot",
            "sets/0/arrows/2/difference": q(-0.75),
            "sets/0/arrows/3/verdict": "stop",
            "sets/0/arrows/3/use": "shorter_draw",
            "sets/0/arrows/4/use": "shoot",
        },
    ),
    "a parcel for nobody in particular": Situation(
        coach="For the reserve I only compare the lengths: nobody shoots them unchecked.",
        asks="delivery",
        sends={
            "sets": [{"id": "reserve", "ordered_length": q(30), "arrived": [q(30), q(29)]}],
        },
        gives={
            "shorter": 1,
            "not_to_be_shot": 0,
            "sets/0/arrows/0/use": "not_checked",
            "sets/0/arrows/1/verdict": ABSENT,
        },
        says=("No archer was given",),
    ),
    # 28 + 1.5 = 29.5; 29.5 - 0.4 = 29.1
    "a dozen for a practised archer": Situation(
        coach="29.5 in of arrow is 29.1 in of tube: tell the shop which is which.",
        **order(),
        gives={
            "lines/0/arrow_length": q(29.5),
            "lines/0/tube_length": q(29.1),
            "lines/0/count": 12,
            "lines/0/uncut": False,
        },
    ),
    # The blade's end: 26.25 + 1 - 1 = 26.25 in; safe from 26.25 + 0.236 + 1 + 0.5 = 27.986 in
    "a clicker that no safe arrow reaches": Situation(
        coach="Do not saw a dozen shafts for a clicker that has to be moved first.",
        **order(
            archer=archer(28, growth_allowance=q(0), draw_control="clicker"),
            bow={**RECURVE, "rest_position": q(1), "clicker_range": {"near": q(0), "far": q(1)}},
            arrow={"nock": {"projection": q(0.4)}, "point": {"exposed_length": q(1)}},
        ),
        gives={"sets/0/cut": 0, "sets/0/uncut": 12, "lines/0/uncut": True},
        says=("Move or extend the clicker before any cut.",),
    ),
    "two spare shafts": Situation(
        coach="A dozen and two spares are fourteen.",
        **order(spares=2),
        gives={"total": 14, "lines/0/count": 14},
    ),
    "wanted shorter than safe": Situation(
        coach="The shop must not cut to 28 in what has to be 29.",
        **order(wanted_length=q(28)),
        status=422,
        gives={"errors/0/pointer": "#/sets/0/wanted_length"},
    ),
    "stock shorter than safe": Situation(
        coach="Shafts of 28 in cannot become arrows of 29.",
        **order(stock_length=q(28)),
        status=422,
        gives={"errors/0/pointer": "#/sets/0/stock_length"},
    ),
    "test shafts first": Situation(
        coach="Order uncut, find the length on test shafts, then cut the set.",
        **order(test_shafts=3),
        gives={"total_uncut": 12, "lines/0/uncut": True},
    ),
    # 66 / 2.5 = 26.4; 26.4 + 4 + 1 = 31.4, and 32.4 of stock and nock is longer
    "only the arm span": Situation(
        coach="An arm span is no measure to cut by: order uncut.",
        **order(archer={"arm_span": q(66)}),
        gives={"total_uncut": 12},
    ),
    "club arrows for nobody in particular": Situation(
        coach="Club arrows of 30 in: cut as asked, and say that nobody's minimum was looked at.",
        **order(archer=None, bow=None, wanted_length=q(30)),
        gives={"lines/0/arrow_length": q(30.0), "lines/0/tube_length": q(29.6)},
        says=("no archer was given",),
    ),
    "a practised archer who asks for a longer set": Situation(
        coach="Longer than recommended does no harm: cut to 30.5 in.",
        **order(wanted_length=q(30.5)),
        gives={"lines/0/arrow_length": q(30.5), "lines/0/tube_length": q(30.1)},
    ),
}
