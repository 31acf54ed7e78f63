"""What a rack's labels say: how far each set may be drawn, and for how long that is enough."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from typing import Annotated, Literal, NotRequired

import numpy as np

from drawmark.answers.club.members import MOST_SETS, ClubSet, check_sets
from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import Convention, Length, SetId, Status, status_of
from drawmark.answers.common.archer_at_draw import Trials, growing_trials, spread_at_any
from drawmark.answers.common.common_response import Aggregate, Common, Demand, demand_of
from drawmark.answers.common.context import Context
from drawmark.answers.common.draw_control import draw_control_response
from drawmark.answers.common.growth_curve import Grows, curve_months, growth_curve_response
from drawmark.answers.common.longest_draw_search import (
    Longest,
    LongestSafeDraw,
    beyond_response,
    find_longest_draw,
    find_too_short,
    longest_draw_response,
)
from drawmark.fitting import fields
from drawmark.fitting.draw.draw_length import offset_of
from drawmark.fitting.draw.growth_of_draw import growth_of_draw, tells_growth
from drawmark.fitting.facts import Facts, facts_of, verify_archer
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.kit.safe_time import count_growing_months
from drawmark.fitting.mechanics.arrow_facts import arrow_facts_of_each
from drawmark.fitting.model import Archer, Bow, Fitting
from drawmark.fitting.rounding import round_down
from drawmark.rules.model import Measure

NEEDS = ("sets[] arrow.length",)
Growth = Literal[
    "growing", "not_growing", "already_outgrown", "draw_is_an_estimate", "no_safe_draw", "in_doubt"
]


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The rack, the bow, how the draw is controlled, and how fast it lengthens."""

    sets: tuple[ClubSet, ...] = fields.part(
        ClubSet, "The sets of the rack.", fewest=1, most=MOST_SETS
    )
    bow: Bow = fields.part(Bow, "The bow.")
    archer: Archer = fields.part(
        Archer,
        "Control, spread and convention of the draw. With a growth rate or an age, also the draw "
        "of one archer.",
        default=Archer(),
    )
    growth_rate: float | None = fields.length(
        0.0,
        0.1,
        "How much longer this archer's draw gets in a year. The same as `archer.growth_rate`.",
        default=None,
    )
    curve_months: int | None = curve_months()
    label_increment: float | None = fields.increment(
        "Labels are rounded down to a multiple of this."
    )


class Label(LongestSafeDraw):
    """How far one set may be drawn."""

    set: SetId
    limited_by: NotRequired[Annotated[Demand, "The floor that sets the limit."]]
    label: NotRequired[
        Annotated[Length, "Longest safe draw, rounded down to a multiple of `label_increment`."]
    ]
    growth: NotRequired[
        Annotated[Growth, "Whether the draw grows past the set, or why that is not known."]
    ]
    safe_until_months: NotRequired[
        Annotated[int, "Months for which the set stays long enough at the given growth rate."]
    ]


class LabelsAnswer(Grows, Common):
    "How far each set of the rack may be drawn, and for how long that is enough."

    status: Status
    draw_length_convention: Convention
    labels: Annotated[list[Label], "One label for each set."]


def answer(request: Request, context: Context) -> LabelsAnswer:
    """Give each set's longest safe draw, the figure for its label, and the months it stays safe."""
    request = with_rate(request)
    verify_archer(request.archer, request.bow)
    arrows = check_sets(request.sets)
    convention = request.archer.draw_length_convention or "standard"
    offset = float(offset_of(convention, request.bow))
    now = None
    if tells_growth(request.archer):
        now = facts_of(Fitting(archer=request.archer, bow=request.bow))
    spread = spread_at_any(request.archer, request.bow)

    @cache
    def growth_by(months: int) -> float:
        return float(growth_of_draw(request.archer, months) or 0.0)

    aggregate = Aggregate()
    labels = []
    for one, arrow, known in zip(request.sets, arrows, arrow_facts_of_each(arrows), strict=True):
        trials = Trials(request.archer, request.bow, arrow, context, known, spread)
        longest = find_longest_draw(trials)
        aggregate.add(longest.beyond or longest.outcome)
        aggregate.determinate = aggregate.determinate and longest.determinate
        label = _label_response(one, longest, offset, request.label_increment)
        if now is not None:
            grows = growing_trials(trials, now)
            own = longest if grows is trials else find_longest_draw(grows)
            growth, months = _find_growth(grows, own, now, growth_by)
            label["growth"] = growth
            if months is not None:
                label["safe_until_months"] = months
        labels.append(label)
    return {
        "status": aggregate.status,
        "draw_length_convention": convention,
        "labels": labels,
        **growth_curve_response(request.archer, request.bow, None, request.curve_months, context),
        **aggregate.response(context, (*cautions.LENGTH, cautions.LONGEST)),
    }


def _label_response(
    one: ClubSet, longest: Longest, offset: float, increment: float | None
) -> Label:
    label: Label = {
        "set": one.id,
        "status": status_of(longest.determinate),
        "draw_control": draw_control_response(longest.outcome.facts),
    }
    demand = demand_of(longest.outcome)
    if demand is not None:
        label["limited_by"] = demand
    label = {**label, **beyond_response(longest), **longest_draw_response(longest, offset)}
    if longest.draw is not None and longest.determinate:
        label["label"] = Measure(round_down(longest.draw + offset, increment), down=True)
    return label


def _find_growth(
    trials: Trials, longest: Longest, now: Facts, growth_by: Callable[[int], float]
) -> tuple[Growth, int | None]:
    """Tell whether the draw outgrows a set, and after how many months."""
    if now.estimated:
        return "draw_is_an_estimate", None
    if longest.draw is None:
        return "no_safe_draw", None
    if not longest.determinate:
        return "in_doubt", None
    draw = float(now.draw)
    time = count_growing_months(longest.draw, draw, growth_by)
    if time.state == "already_outgrown":
        return "already_outgrown", None
    months = time.months or 0
    if _may_vary(trials):
        # A clicker or a local rule may let a long draw be safe and a shorter one not.
        draws = np.array([draw + growth_by(month) for month in range(months + 1)])
        short = find_too_short(trials, draws)
        months = months if short is None else short - 1
    if months < 0:
        return "already_outgrown", None
    if time.state == "not_growing":
        return "not_growing", None
    return "growing", months


def with_rate(request: Request) -> Request:
    """Let the archer have the request's growth rate."""
    rate, archer = request.growth_rate, request.archer
    if rate is None:
        return request
    if archer.growth_rate is not None:
        raise FittingError(
            Fault(path=("growth_rate",), detail="The archer has one. Leave this out.")
        )
    return replace(request, archer=replace(archer, growth_rate=rate))


def _may_vary(trials: Trials) -> bool:
    return trials.archer.draw_control == "clicker" or bool(trials.context.ruleset.local)
