"""Which arrows do not belong to their set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Final, NotRequired, TypedDict

import numpy as np

from drawmark.answers.club.measured_arrows import (
    KINDS,
    MeasuredArrow,
    NamedArrow,
    named_response,
)
from drawmark.answers.club.members import repeated_ids
from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import (
    Length,
    NotTold,
    Number,
    Percent,
    Status,
    status_of,
)
from drawmark.answers.common.common_response import (
    CommonWithoutRules,
    encode_texts,
    engine_response,
)
from drawmark.answers.common.context import Context
from drawmark.deprecation import Deprecated
from drawmark.fitting import fields, limits
from drawmark.fitting.columns import Column
from drawmark.fitting.faults import FittingError
from drawmark.fitting.kit import odd_arrows
from drawmark.fitting.kit.odd_arrows import (
    FIGURES,
    LEAST,
    MOST,
    USUAL_RANGE,
    Consistency,
    Figure,
    check_consistency,
)
from drawmark.rules.model import Measure

NEEDS = ()
MOST_MEASURED: Final = 500


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The single arrows of one set."""

    arrows: tuple[MeasuredArrow, ...] = fields.part(
        MeasuredArrow, "The arrows of one set, in any order.", fewest=1, most=MOST_MEASURED
    )


class Limit(TypedDict):
    """How far from the median a figure may lie: with a unit, or in per cent of the stiffness."""

    limit: NotRequired[Annotated[Measure, "How far from the median an arrow may lie."]]
    limit_percent: NotRequired[
        Annotated[
            Percent,
            "Given in place of `limit` for the static spine: how far from the median the "
            "stiffness may lie, in per cent of the median.",
        ]
    ]


class OddArrow(NamedArrow, Limit):
    """An arrow that differs from its set in one figure."""

    field: Annotated[Figure, "Figure in which the arrow differs."]
    value: Annotated[Measure, "The arrow's figure."]
    typical: Annotated[Measure, "Median of the set."]


class LimitOfFigure(Limit):
    """The limit of one figure."""

    field: Annotated[Figure, "The figure."]


class LeastOfFigure(LimitOfFigure):
    """The limit of one figure, under its older name too."""

    distance: Annotated[
        Measure,
        "The same.",
        Deprecated(since=date(2026, 11, 30), instead="Use `limit` or `limit_percent`."),
    ]


class Thresholds(TypedDict):
    """What counts as odd."""

    deviations: Annotated[Number, "Number of robust standard deviations from the median."]
    fewest_arrows: Annotated[int, "Smallest number of measured arrows that is judged."]
    at_least: Annotated[list[LeastOfFigure], "Differences up to which no arrow is odd."]
    at_most: Annotated[
        list[LimitOfFigure], "Differences beyond which an arrow is odd in a set of any spread."
    ]
    source: Annotated[str, "Key of its source in `/v1/sources`."]


class SpreadOfFigure(TypedDict):
    """How far one figure varies within the set."""

    field: Annotated[Figure, "The figure."]
    count: Annotated[int, "Number of arrows measured."]
    range: Annotated[Measure, "Greatest less least."]
    standard_deviation: Annotated[Measure, "Standard deviation of the sample."]
    usual_range: Annotated[Measure, "Range that is usual within one set: common practice."]
    usual: Annotated[bool, "Whether `range` is no greater than `usual_range`."]
    source: Annotated[str, "Key of the source of `usual_range` in `/v1/sources`."]


class UnmeasuredFigure(NamedArrow):
    """A figure of an arrow that was not given."""

    field: Annotated[Figure, "The figure."]


class ShortestLength(TypedDict):
    """The shortest length; the name says whether it may be shorter."""

    status: Status
    shortest_length: NotRequired[Annotated[Length, "Shortest arrow of the set."]]
    shortest_length_at_most: NotRequired[
        Annotated[
            Length,
            "Given in place of `shortest_length` if not every arrow was measured. The shortest "
            "may be shorter.",
        ]
    ]
    shortest_arrow: NotRequired[Annotated[NamedArrow, "Which arrow that is."]]


class WithoutShortest(TypedDict):
    """What a set gains if its shortest arrow is set aside."""

    set_aside: Annotated[NamedArrow, "The shortest arrow."]
    shortest_length: Annotated[Length, "Shortest arrow of the rest."]
    gain: Annotated[Length, "How much longer that is, and the draw that the set serves."]


class SetAside(TypedDict):
    """What setting an arrow aside does."""

    without_shortest: NotRequired[
        Annotated[
            WithoutShortest,
            "What the set gains if its shortest arrow is set aside. Left out if it gains nothing, "
            "or if not every arrow was measured.",
        ]
    ]


class ConsistencyAnswer(ShortestLength, SetAside, CommonWithoutRules):
    """Which arrows do not belong to their set."""

    odd: Annotated[list[OddArrow], "Arrows that do not belong to the set."]
    thresholds: Annotated[Thresholds, "What counts as odd."]
    spread: Annotated[
        list[SpreadOfFigure],
        "How far length and mass vary within the set. Each needs two measured arrows.",
    ]
    unmeasured: Annotated[list[UnmeasuredFigure], "Figures that were not given."]
    not_told: NotTold


def answer(request: Request, context: Context) -> ConsistencyAnswer:
    """Name the arrows that do not belong to the set, and give its shortest length."""
    if faults := repeated_ids("arrows", request.arrows):
        raise FittingError(*faults)
    columns = {name: _column_of(request.arrows, name) for name in FIGURES}
    found = check_consistency(**columns)
    return {
        **_shortest_response(request, found),
        **_without_shortest_response(request, found),
        "odd": [_odd_response(request, one) for one in found.odd],
        "thresholds": {
            "deviations": Measure(limits.ODD_DEVIATIONS, "number"),
            "fewest_arrows": limits.CONSISTENCY_COUNT,
            "at_least": [_least_of_figure(name) for name in FIGURES],
            "at_most": [_limit_of_figure(name, MOST) for name in FIGURES],
            "source": "project-consistency",
        },
        "spread": [_spread_response(one) for one in found.spread],
        "unmeasured": [
            {**named_response(request.arrows, index), "field": name}
            for index, name in found.unmeasured
        ],
        "not_checked": [
            {
                "what": f"Consistency of {name}: fewer than {limits.CONSISTENCY_COUNT} arrows "
                "were measured.",
                "fields": [f"arrows.{name}"],
            }
            for name in found.not_checked
        ],
        "not_told": encode_texts(cautions.NOT_TOLD),
        "cautions": encode_texts(
            (
                cautions.AUTHORITY,
                cautions.BREAKING,
                cautions.SHORTEST,
                *(() if all(one.usual for one in found.spread) else (cautions.MIXED,)),
            )
        ),
        "engine": engine_response(context),
    }


def _column_of(arrows: tuple[MeasuredArrow, ...], name: Figure) -> Column:
    figures = (getattr(arrow, name) for arrow in arrows)
    return np.array([np.nan if one is None else one for one in figures], dtype=np.float64)


def _shortest_response(request: Request, found: Consistency) -> ShortestLength:
    whole = all(name != "length" for _, name in found.unmeasured) and found.shortest is not None
    answer: ShortestLength = {"status": status_of(whole)}
    if found.shortest is not None:
        length = request.arrows[found.shortest].length
        assert length is not None
        shortest = Measure(length, down=True)
        if whole:
            answer["shortest_length"] = shortest
        else:
            # An arrow that was not measured may be shorter.
            answer["shortest_length_at_most"] = shortest
        answer["shortest_arrow"] = named_response(request.arrows, found.shortest)
    return answer


def _without_shortest_response(request: Request, found: Consistency) -> SetAside:
    lengths = [one.length for one in request.arrows if one.length is not None]
    if found.shortest is None or len(lengths) < len(request.arrows):
        return {}
    shortest, *rest = sorted(lengths)
    if not rest or not limits.longer(rest[0], shortest):
        return {}
    return {
        "without_shortest": {
            "set_aside": named_response(request.arrows, found.shortest),
            "shortest_length": Measure(rest[0], down=True),
            "gain": Measure(rest[0] - shortest, down=True),
        }
    }


def _odd_response(request: Request, one: odd_arrows.OddArrow) -> OddArrow:
    kind = KINDS[one.figure]
    share = one.limit / one.typical if one.figure == "static_spine" else one.limit
    return {
        **named_response(request.arrows, one.index),
        "field": one.figure,
        "value": Measure(one.value, kind),
        "typical": Measure(one.typical, kind),
        **_limit_response(one.figure, share),
    }


def _limit_of_figure(figure: Figure, limits_of: Mapping[Figure, float]) -> LimitOfFigure:
    return {"field": figure, **_limit_response(figure, limits_of[figure])}


def _least_of_figure(figure: Figure) -> LeastOfFigure:
    least = _limit_of_figure(figure, LEAST)
    limit = least.get("limit")
    return {**least, "distance": least["limit_percent"] if limit is None else limit}


def _limit_response(figure: Figure, limit: float) -> Limit:
    # A difference of stiffness is no static spine.
    if figure == "static_spine":
        return {"limit_percent": Measure(100 * limit, "percent")}
    return {"limit": Measure(limit, KINDS[figure])}


def _spread_response(one: odd_arrows.Spread) -> SpreadOfFigure:
    kind = KINDS[one.figure]
    return {
        "field": one.figure,
        "count": one.count,
        "range": Measure(one.range, kind),
        "standard_deviation": Measure(one.deviation, kind),
        "usual_range": Measure(USUAL_RANGE[one.figure], kind),
        "usual": one.usual,
        "source": "set-tolerance",
    }
