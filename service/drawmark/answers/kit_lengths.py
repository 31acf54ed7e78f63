"""Which lengths a club buys so that everyone has a safe set and the least length is wasted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from drawmark.answers.club.members import MOST_ARCHERS, ClubArcher
from drawmark.answers.club.needed_length import Need, need_response
from drawmark.answers.club.requirements import gather_requirements
from drawmark.answers.club.season import Season, grown, season_response
from drawmark.answers.club.stock_check import Buyer, Stock
from drawmark.answers.common import cautions
from drawmark.answers.common.common_response import Aggregate, demand_response
from drawmark.answers.common.context import Answer, Context
from drawmark.answers.common.minimum import CLICKER_FLOOR, NOT_REACHED, minimum_length_of
from drawmark.fitting import fields
from drawmark.fitting.kit.stock_lengths import StockLength
from drawmark.fitting.limits import longer
from drawmark.fitting.model import DRAW, Arrow
from drawmark.rules.model import CORE, Measure
from drawmark.rules.outcome import NotChecked

NEEDS = (f"archers[] {DRAW}",)
_STRENGTH: Final = NotChecked(
    CORE, "", "Stiffness, mass and balance of the arrows to be bought: a fit check of each set.", ()
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The club's archers, and how many different lengths it is willing to stock."""

    archers: tuple[ClubArcher, ...] = fields.part(
        ClubArcher, "The archers, who get a set each.", fewest=1, most=MOST_ARCHERS
    )
    most_lengths: int = fields.whole(1, 50, "Different lengths that may be bought.")
    arrow: Arrow | None = fields.part(
        Arrow, "What is known of the arrows to be bought, but their length.", default=None
    )
    season: Season | None = fields.part(
        Season, "Growth until the sets are looked at again.", default=None
    )
    arrows_per_archer: int = fields.whole(1, 144, "Arrows of a set.", default=1)
    saw_increment: float | None = fields.increment("Lengths are multiples of this.")


def answer(request: Request, context: Context) -> Answer:
    """Give the lengths and how many sets of each, and what other numbers of lengths would waste."""
    archers = grown(request.archers, request.season)
    buyer = Buyer(
        request.arrow,
        context,
        request.most_lengths,
        request.arrows_per_archer,
        request.saw_increment,
    )
    stock = buyer.choose(gather_requirements(archers, request.arrow, context))
    plan = stock.plan
    aggregate = Aggregate()
    for one in stock.wanted:
        aggregate.add(one.need.outcome)
        aggregate.add(one.shortest.outcome)
        aggregate.determinate = aggregate.determinate and one.shortest.determinate
    said: Answer = {
        "status": aggregate.status,
        "lengths": [_length_response(one, stock, request) for one in plan.lengths],
        "curve": [
            {"lengths": number, **_waste_response(waste)}
            for number, waste in enumerate(plan.curve[: len(archers)], start=1)
        ],
        "fewest_lengths": plan.fewest_lengths,
        "clickers": stock.clickers,
        "minimums": [
            {
                "archer": one.id,
                **need_response(one.shortest, "minimum"),
                **_demand_response(one.shortest),
            }
            for one in stock.wanted
        ],
        "unsuited": [
            {"archer": stock.wanted[at].id, "reason": reason}
            for at, reason in sorted(stock.unsuited.items())
        ],
        **_waste_response(plan.waste),
        **season_response(request.season),
    }
    usual = (*cautions.LENGTH, cautions.CUTTING, cautions.JUST_ENOUGH)
    return {**said, **aggregate.response(context, usual, _STRENGTH)}


def _length_response(one: StockLength, stock: Stock, request: Request) -> Answer:
    served = [stock.wanted[at] for at in one.archers]
    whole = all(each.shortest.determinate for each in served)
    most = max(served, key=lambda each: each.shortest.length)
    return {
        "length" if whole else "length_at_least": Measure(one.length, up=True),
        "archers": [each.id for each in served],
        "count": len(served),
        "arrows": len(served) * request.arrows_per_archer,
        "longest_minimum_of": most.id,
    }


def _demand_response(need: Need) -> Answer:
    if longer(need.length, minimum_length_of(need.outcome)):
        said = {"plugin": "core", "rule": "clicker-reach", "floor": CLICKER_FLOOR}
        return {"demanded_by": {**said, "reason": NOT_REACHED}}
    return demand_response(need.outcome, "demanded_by")


def _waste_response(waste: float | None) -> Answer:
    return {} if waste is None else {"waste": Measure(waste)}
