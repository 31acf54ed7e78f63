"""What a rack's labels say: how far each set may be drawn, and for how long that is enough."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from drawmark.answers.club.members import MOST_SETS, ClubSet, check_sets
from drawmark.answers.common import cautions
from drawmark.answers.common.aggregate import Gathered, say_demand
from drawmark.answers.common.context import Answer, Context
from drawmark.answers.common.response_parts import say_control, say_longest
from drawmark.answers.longest_draw import (
    NO_DRAW,
    Longest,
    find_longest,
    is_long_enough,
    say_beyond,
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
    gathered = Gathered()
    labels = []
    for one, arrow in zip(request.sets, arrows, strict=True):
        longest = find_longest(request.archer, request.bow, arrow, context)
        gathered.add(longest.beyond or longest.outcome)
        gathered.determinate = gathered.determinate and longest.determinate
        labels.append(
            {
                "set": one.id,
                **_say_longest(longest, offset),
                **_say_label(request, longest, offset),
                **_say_months(request, arrow, longest, now, context),
            }
        )
    return {
        "status": gathered.status,
        "draw_length_convention": convention,
        "labels": labels,
        **gathered.say(context, (*cautions.LENGTH, cautions.LONGEST)),
    }


def _say_longest(longest: Longest, offset: float) -> Answer:
    outcome = longest.outcome
    said: Answer = {
        "status": "determinate" if longest.determinate else "indeterminate",
        "draw_control": say_control(outcome.facts),
        **say_demand(outcome, "limited_by"),
        **say_beyond(longest),
    }
    if longest.draw is None:
        return {**said, "reason": NO_DRAW}
    return {**said, **say_longest(longest.draw + offset, longest.determinate)}


def _say_label(request: Request, longest: Longest, offset: float) -> Answer:
    if longest.draw is None or not longest.determinate:
        return {}
    draw = longest.draw + offset
    return {"label": Measure(round_down(draw, request.label_increment), down=True)}


def _say_months(
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
