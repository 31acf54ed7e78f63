"""Which lengths a club buys: everyone a recommended one or longer, and the least beyond it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Final, NotRequired, TypedDict

from drawmark.answers.club.members import MOST_ARCHERS, ClubArcher, local_of
from drawmark.answers.club.needed_length import Need
from drawmark.answers.club.requirements import Requirement, gather_requirements
from drawmark.answers.club.season import GrowthAllowed, Season, grown, season_response
from drawmark.answers.club.stock_check import Buyer, Clickers, Stock, UnsuitedReason
from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import (
    ArcherId,
    ArrowLength,
    Length,
    OverallVerdict,
    Status,
)
from drawmark.answers.common.common_response import Aggregate, Common, Demand, demand_of
from drawmark.answers.common.context import Context
from drawmark.answers.common.growth_curve import (
    Grows,
    at_length,
    curve_months,
    growth_curve_response,
)
from drawmark.answers.common.minimum import (
    CLICKER_FLOOR,
    NOT_REACHED,
    MinimumFigure,
    minimum_length_of,
)
from drawmark.deprecation import Deprecated
from drawmark.fitting import fields
from drawmark.fitting.draw.growth_of_draw import tells_growth
from drawmark.fitting.kit import stock_lengths
from drawmark.fitting.limits import longer
from drawmark.fitting.mechanics.arrow_facts import ArrowFacts, arrow_facts_of_each
from drawmark.fitting.model import DRAW, Arrow
from drawmark.rules.model import CORE, Measure
from drawmark.rules.outcome import NotChecked, Outcome

NEEDS = (f"archers[] {DRAW}",)
_STRENGTH: Final = NotChecked(
    CORE,
    "",
    ("Stiffness, mass and balance of the arrows to be bought: make a fit check of each set."),
    (),
)


Bought = tuple[Arrow, ArrowFacts]
"""An arrow of a length that is bought, and what is known of it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The club's archers, and how many different lengths it is willing to stock."""

    archers: tuple[ClubArcher, ...] = fields.part(
        ClubArcher, "The archers, who get a set each.", fewest=1, most=MOST_ARCHERS
    )
    most_lengths: int = fields.whole(1, 50, "How many different lengths may be bought.")
    arrow: Arrow | None = fields.part(
        Arrow, "What is known of the arrows to buy, except their length.", default=None
    )
    season: Season | None = fields.part(
        Season, "Growth until the sets are looked at again.", default=None
    )
    arrows_per_archer: int = fields.whole(1, 144, "Arrows of a set.", default=1)
    saw_increment: float | None = fields.increment("Lengths are multiples of this.")
    curve_months: int | None = curve_months()


class BoughtLength(TypedDict):
    """A length; the name says whether it may be longer."""

    length: NotRequired[ArrowLength]
    length_at_least: NotRequired[
        Annotated[
            Length, "Given in place of `length` if a floor may be missing. More may be needed."
        ]
    ]


class StockLength(BoughtLength):
    """One length to buy, and for whom."""

    archers: Annotated[list[str], "`id` of each archer who gets this length."]
    count: Annotated[int, "Number of sets of this length."]
    arrows: Annotated[int, "Number of arrows of this length."]
    longest_recommended_of: Annotated[
        str, "`id` of the archer whose recommended length decides it."
    ]
    longest_minimum_of: Annotated[
        str,
        "The same.",
        Deprecated(since=date(2026, 11, 30), instead="Use `longest_recommended_of`."),
    ]


class WasteOfLengths(TypedDict):
    """What some number of lengths would waste."""

    lengths: Annotated[int, "Number of lengths."]
    waste: NotRequired[
        Annotated[Length, "Length that they waste. Left out if they cannot serve everyone."]
    ]


class ArcherMinimum(Grows, MinimumFigure):
    """What one archer needs."""

    archer: ArcherId
    recommended: Annotated[
        Length, "Recommended length, growth included. No shorter arrow is bought for this archer."
    ]
    verdict: NotRequired[
        Annotated[OverallVerdict, "Verdict of the fit check with the length that is bought."]
    ]
    demanded_by: NotRequired[Annotated[Demand, "The floor that asks for the minimum."]]


class Unsuited(TypedDict):
    """An archer for whom none of the lengths will do."""

    archer: ArcherId
    reason: Annotated[UnsuitedReason, "Why."]


class Waste(TypedDict):
    """What the lengths waste."""

    waste: NotRequired[
        Annotated[Length, "Length beyond the archers' recommended lengths, over all arrows."]
    ]


class LengthsAnswer(Waste, GrowthAllowed, Common):
    """Which few lengths serve everyone, and what they waste."""

    status: Status
    lengths: Annotated[list[StockLength], "Lengths to buy."]
    curve: Annotated[list[WasteOfLengths], "What each number of lengths would waste."]
    fewest_lengths: Annotated[int, "Smallest number of lengths that serves everyone."]
    clickers: Annotated[Clickers, "Whether each archer's length reaches the clicker."]
    minimums: Annotated[list[ArcherMinimum], "What each archer needs."]
    unsuited: Annotated[
        list[Unsuited],
        "Archers for whom no length will do: it is longer than a local rule allows, the fit check "
        "stops the recommended one, or the rules contradict themselves.",
    ]


def answer(request: Request, context: Context) -> LengthsAnswer:
    """Give the lengths and how many sets of each, and what other numbers of lengths would waste."""
    archers = grown(request.archers, request.season)
    buyer = Buyer(
        request.arrow,
        context,
        request.most_lengths,
        request.arrows_per_archer,
        request.saw_increment,
    )
    stock = buyer.choose(
        gather_requirements(archers, request.arrow, context, request.saw_increment)
    )
    plan = stock.plan
    bought = _bought_by(request, plan.lengths)
    aggregate = Aggregate()
    for one in stock.requirements:
        aggregate.add(one.need.outcome)
        aggregate.add(one.shortest.outcome)
        aggregate.determinate = aggregate.determinate and one.shortest.determinate
    for outcome in stock.checks.values():
        aggregate.add(outcome)
        aggregate.determinate = aggregate.determinate and outcome.verdict != "indeterminate"
    usual = (*cautions.LENGTH, cautions.CUTTING)
    return {
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
                **_minimum_response(one, stock.checks.get(at)),
                **_curve_response(request.archers[at], bought.get(at), request, context),
            }
            for at, one in enumerate(stock.requirements)
        ],
        "unsuited": [
            {"archer": stock.requirements[at].id, "reason": reason}
            for at, reason in sorted(stock.unsuited.items())
        ],
        **_waste_response(plan.waste),
        **season_response(request.season),
        **aggregate.response(context, usual, _STRENGTH),
    }


def _length_response(one: stock_lengths.StockLength, stock: Stock, request: Request) -> StockLength:
    served = [stock.requirements[at] for at in one.archers]
    most = max(served, key=lambda each: each.wanted)
    length = Measure(one.length, up=True)
    figure: BoughtLength = {"length_at_least": length}
    sure = all(stock.checks[at].verdict != "indeterminate" for at in one.archers)
    if sure and all(each.shortest.determinate for each in served):
        figure = {"length": length}
    return {
        **figure,
        "archers": [each.id for each in served],
        "count": len(served),
        "arrows": len(served) * request.arrows_per_archer,
        "longest_recommended_of": most.id,
        "longest_minimum_of": most.id,
    }


def _minimum_response(one: Requirement, check: Outcome | None) -> ArcherMinimum:
    need = one.shortest
    answer: ArcherMinimum = {"archer": one.id, "recommended": Measure(one.wanted, up=True)}
    if check is not None:
        answer["verdict"] = check.verdict
    if need.determinate:
        answer["minimum"] = Measure(need.length, up=True)
    else:
        answer["minimum_at_least"] = Measure(need.length, up=True)
    demand = _demand_of(need)
    if demand is not None:
        answer["demanded_by"] = demand
    return answer


def _bought_by(request: Request, lengths: Sequence[stock_lengths.StockLength]) -> dict[int, Bought]:
    """Give what each archer's arrow will be, by the archer's place, where curves ask for it."""
    if request.curve_months is None:
        return {}
    arrows = [at_length(request.arrow, one.length) for one in lengths]
    return {
        at: (arrow, known)
        for one, arrow, known in zip(lengths, arrows, arrow_facts_of_each(arrows), strict=True)
        for at in one.archers
    }


def _curve_response(
    one: ClubArcher, bought: Bought | None, request: Request, context: Context
) -> Grows:
    if not tells_growth(one.archer):
        return {}
    own = context.with_local(local_of(one, context))
    arrow, known = bought or (request.arrow, None)
    return growth_curve_response(one.archer, one.bow, arrow, request.curve_months, own, known)


def _demand_of(need: Need) -> Demand | None:
    if longer(need.length, minimum_length_of(need.outcome)):
        return {
            "plugin": CORE,
            "rule": "clicker-reach",
            "floor": CLICKER_FLOOR,
            "reason": NOT_REACHED,
        }
    return demand_of(need.outcome)


def _waste_response(waste: float | None) -> Waste:
    return {} if waste is None else {"waste": Measure(waste)}
