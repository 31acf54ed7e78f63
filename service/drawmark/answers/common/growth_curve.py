"""The draw of a growing archer month by month, and what becomes of an arrow meanwhile."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Annotated, Any, Final, NotRequired, TypedDict

import msgspec

from drawmark.answers.common.answer_types import Length, OverallVerdict, SourceKey
from drawmark.answers.common.archer_at_draw import growing_trials, is_estimate, trials_of
from drawmark.answers.common.context import Context
from drawmark.answers.common.minimum import MinimumFigure, minimum_length_of, shortest_safe
from drawmark.fitting import fields, limits
from drawmark.fitting.draw.draw_length import offset_of
from drawmark.fitting.draw.growth_of_draw import (
    growth_of_draw,
    growth_source,
    months_since,
    tells_growth,
)
from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.mechanics.arrow_facts import ArrowFacts, arrow_facts_of
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.rules.model import Measure
from drawmark.rules.outcome import Outcome

MOST_MONTHS: Final = 24
_SAFE: Final = ("pass", "caution")
_BY_AGE: Final = (
    "Growth by age is height velocity over 2.5, if arm span grows like height. A child who matures "
    "early grows faster than others of the same age. Measure the draw each month."
)


def curve_months() -> Any:
    """Declare how many months a curve has."""
    return fields.whole(
        1,
        MOST_MONTHS,
        "Gives `growth_curve`: the draw and the minimum for each of so many months. It needs "
        "`archer.growth_rate` or `archer.age`.",
        default=None,
    )


class GrowthMonth(MinimumFigure):
    """One month of a growing draw."""

    month: Annotated[int, "Months from today."]
    draw_length: Annotated[
        Length, "Draw in the archer's convention, at the 97th centile or the stated rate."
    ]
    median_draw_length: NotRequired[
        Annotated[Length, "Draw at the 50th centile. Given where there is a table for it."]
    ]
    verdict: NotRequired[
        Annotated[
            OverallVerdict,
            "Verdict of the fit check of the present arrow, once this draw has been measured.",
        ]
    ]


class GrowthCurve(TypedDict):
    """How a draw grows, and until when the present arrow will do."""

    source: SourceKey
    months: Annotated[list[GrowthMonth], "The months, today first."]
    remark: NotRequired[Annotated[str, "What growth by age assumes. Left out with a stated rate."]]
    check_by_month: Annotated[
        int,
        "Measure the draw again by this month: the verdict changes after it, or the draw is no "
        "longer fresh. 0 is now.",
    ]
    buy_by_month: NotRequired[
        Annotated[
            int,
            "Have longer arrows by this month: it is the last in which the present one may be "
            "shot. 0 is now. Left out if it may be shot in all of these months.",
        ]
    ]


class Grows(TypedDict):
    """The curve in an answer."""

    growth_curve: NotRequired[
        Annotated[GrowthCurve, "How the draw grows. Given if `curve_months` is."]
    ]


def growth_curve_response(
    archer: Archer,
    bow: Bow,
    arrow: Arrow | None,
    months: int | None,
    context: Context,
    known: ArrowFacts | None = None,
) -> Grows:
    """Give the draw, the minimum and the verdict month by month; nothing where not asked for.

    `known` is what is known of the arrow, if that is worked out already.
    """
    if months is None:
        return {}
    verify_growth(archer)
    if arrow is not None and known is None:
        known = arrow_facts_of(arrow, pushed=bow.draw_weight is not None)
    facts = facts_of(Fitting(archer=archer, bow=bow, arrow=arrow), arrow_facts=known)
    start = float(facts.draw)
    offset = float(offset_of(archer.draw_length_convention or "standard", bow))
    trials = growing_trials(trials_of(archer, bow, Arrow(), context), facts)
    if arrow is not None and known is not None:
        trials = msgspec.structs.replace(trials, arrow=arrow, arrow_facts=known)
    rows: list[GrowthMonth] = []
    for month in range(months + 1):
        growth = _growth(archer, month)
        outcome = trials.check(start + growth)
        row: GrowthMonth = {
            "month": month,
            "draw_length": Measure(start + growth + offset, up=True),
        }
        row = {**row, **_minimum_response(outcome, bow, arrow)}
        median = growth_of_draw(archer, month, centile="median")
        if archer.growth_rate is None and median is not None:
            row["median_draw_length"] = Measure(start + float(median) + offset)
        if arrow is not None and arrow.length is not None:
            row["verdict"] = outcome.verdict
        rows.append(row)
    return {"growth_curve": _summed_up(archer, rows)}


def verify_growth(archer: Archer) -> None:
    """Raise FittingError where nothing tells how fast a draw grows, or what it is today."""
    if not tells_growth(archer):
        detail = "This, or archer.age, is needed beside curve_months."
        raise FittingError(Fault(path=("archer", "growth_rate"), detail=detail))
    if is_estimate(archer):
        detail = "This is needed beside curve_months. An arm span is only an estimate."
        raise FittingError(Fault(path=("archer", "draw_length"), detail=detail))


def _growth(archer: Archer, months: float) -> float:
    growth = growth_of_draw(archer, months)
    assert growth is not None
    return float(growth)


def _minimum_response(outcome: Outcome, bow: Bow, arrow: Arrow | None) -> MinimumFigure:
    figure = Measure(
        float(shortest_safe(minimum_length_of(outcome), outcome.facts, bow, arrow)), up=True
    )
    return {"minimum": figure} if outcome.determinate else {"minimum_at_least": figure}


def _summed_up(archer: Archer, rows: list[GrowthMonth]) -> GrowthCurve:
    verdicts = [row.get("verdict") for row in rows]
    same = _count(verdicts, (verdicts[0],)) - 1
    curve: GrowthCurve = {
        "source": growth_source(archer),
        "months": rows,
        "check_by_month": min(same, max(0, int(limits.FRESH_MONTHS - months_since(archer)))),
    }
    if archer.growth_rate is None:
        curve["remark"] = _BY_AGE
    safe = _count(verdicts, _SAFE)
    if verdicts[0] is not None and safe < len(rows):
        curve["buy_by_month"] = max(safe - 1, 0)
    return curve


def _count(verdicts: Sequence[str | None], kept: Sequence[str | None]) -> int:
    """Count the months from today on in which the verdict is one of these."""
    return next((at for at, one in enumerate(verdicts) if one not in kept), len(verdicts))


def at_length(arrow: Arrow | None, length: float) -> Arrow:
    """Give what is known of an arrow at a length [m]."""
    return dataclasses.replace(arrow or Arrow(), length=length)
