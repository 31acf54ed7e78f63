"""What a rack's labels say: how far each set may be drawn, and for how long that is enough."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from drawmark.answers.club.members import MOST_SETS, ClubSet, check_sets
from drawmark.answers.common import cautions
from drawmark.answers.common.common_response import Aggregate, demand_response
from drawmark.answers.common.context import Answer, Context
from drawmark.answers.common.draw_control import draw_control_response
from drawmark.answers.common.longest_draw_search import (
    NO_DRAW,
    Longest,
    beyond_response,
    find_longest_draw,
    is_long_enough,
    longest_draw_response,
)
from drawmark.fitting import fields
from drawmark.fitting.draw.draw_length import offset_of
from drawmark.fitting.facts import Facts, facts_of, verify_archer
from drawmark.fitting.kit.growth import MONTHS_A_YEAR
from drawmark.fitting.kit.safe_time import count_safe_months
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.fitting.rounding import round_down
from drawmark.rules.model import Measure

NEEDS = ("sets[] arrow.length",)
GROWTHS: Final = (
    "growing",
    "not_growing",
    "past",
    "draw_is_an_estimate",
    "no_safe_draw",
    "in_doubt",
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The rack, the bow, how the draw is controlled, and how fast it lengthens."""

    sets: tuple[ClubSet, ...] = fields.part(
        ClubSet, "The sets of the rack.", fewest=1, most=MOST_SETS
    )
    bow: Bow = fields.part(Bow, "The bow.")
    archer: Archer = fields.part(
        Archer,
        "Control, spread and convention; with growth_rate the draw too, of one archer.",
        default=Archer(),
    )
    growth_rate: float | None = fields.length(
        0.0, 0.1, "How much longer this archer's draw gets in a year.", default=None
    )
    label_increment: float | None = fields.increment(
        "Labels are rounded down to a multiple of this."
    )


def answer(request: Request, context: Context) -> Answer:
    """Give each set's longest safe draw, the figure for its label, and the months it stays safe."""
    verify_archer(request.archer, request.bow)
    arrows = check_sets(request.sets)
    convention = request.archer.draw_length_convention or "standard"
    offset = float(offset_of(convention, request.bow))
    now = None
    if request.growth_rate is not None:
        now = facts_of(Fitting(archer=request.archer, bow=request.bow))
    aggregate = Aggregate()
    labels = []
    for one, arrow in zip(request.sets, arrows, strict=True):
        longest = find_longest_draw(request.archer, request.bow, arrow, context)
        aggregate.add(longest.beyond or longest.outcome)
        aggregate.determinate = aggregate.determinate and longest.determinate
        labels.append(
            {
                "set": one.id,
                **_longest_draw_response(longest, offset),
                **_label_response(request, longest, offset),
                **_months_response(request, arrow, longest, now, context),
            }
        )
    return {
        "status": aggregate.status,
        "draw_length_convention": convention,
        "labels": labels,
        **aggregate.response(context, (*cautions.LENGTH, cautions.LONGEST)),
    }


def _longest_draw_response(longest: Longest, offset: float) -> Answer:
    outcome = longest.outcome
    said: Answer = {
        "status": "determinate" if longest.determinate else "indeterminate",
        "draw_control": draw_control_response(outcome.facts),
        **demand_response(outcome, "limited_by"),
        **beyond_response(longest),
    }
    if longest.draw is None:
        return {**said, "reason": NO_DRAW}
    return {**said, **longest_draw_response(longest.draw + offset, longest.determinate)}


def _label_response(request: Request, longest: Longest, offset: float) -> Answer:
    if longest.draw is None or not longest.determinate:
        return {}
    draw = longest.draw + offset
    return {"label": Measure(round_down(draw, request.label_increment), down=True)}


def _months_response(
    request: Request, arrow: Arrow, longest: Longest, now: Facts | None, context: Context
) -> Answer:
    if now is None or request.growth_rate is None:
        return {}
    if now.estimated:
        return {"growth": "draw_is_an_estimate"}
    if longest.draw is None:
        return {"growth": "no_safe_draw"}
    if not longest.determinate:
        return {"growth": "in_doubt"}
    draw, rate = float(now.mean_draw), request.growth_rate / MONTHS_A_YEAR
    time = count_safe_months(longest_safe_draw=longest.draw, draw=draw, growth_rate=rate)
    if time.state == "past":
        return {"growth": "past"}
    months = time.months or 0
    for month in range(months + 1) if _may_vary(request.archer, context) else ():
        # A clicker or a local rule may let a long draw be safe and a shorter one not.
        if not is_long_enough(request.archer, request.bow, arrow, context, draw + month * rate):
            months = month - 1
            break
    if months < 0:
        return {"growth": "past"}
    if time.state == "not_growing":
        return {"growth": "not_growing"}
    return {"growth": "growing", "safe_until_months": months}


def _may_vary(archer: Archer, context: Context) -> bool:
    return archer.draw_control == "clicker" or bool(context.ruleset.local)
