"""Which arrows do not belong to their set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Final, NotRequired, TypedDict

import numpy as np

from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import (
    Length,
    NotTold,
    Number,
    PlaceInRequest,
    Status,
    status_of,
)
from drawmark.answers.common.common_response import (
    CommonWithoutRules,
    encode_texts,
    engine_response,
)
from drawmark.answers.common.context import Context
from drawmark.fitting import fields, limits
from drawmark.fitting.columns import Column
from drawmark.fitting.kit import odd_arrows
from drawmark.fitting.kit.odd_arrows import (
    FIGURES,
    LEAST,
    Consistency,
    Figure,
    check_consistency,
)
from drawmark.fitting.model import Arrow, Shaft
from drawmark.rules.model import Measure, MeasureKind

NEEDS = ()
MOST_MEASURED: Final = 500
_KINDS: Final[dict[Figure, MeasureKind]] = {
    "length": "length",
    "mass": "mass",
    "balance_point": "length",
    "static_spine": "static_spine",
}
_LEAST: Final[dict[Figure, Measure]] = {
    figure: Measure(100 * least, "percent")
    if figure == "static_spine"
    else Measure(least, _KINDS[figure])
    for figure, least in LEAST.items()
}


def _same(cls: type, name: str) -> Any:
    spec = fields.quantity_of(cls, name)
    return fields.quantity(spec.dimension, spec.low, spec.high, spec.doc, default=None)


@dataclass(frozen=True, kw_only=True, slots=True)
class MeasuredArrow:
    """One arrow of a set, as far as it was measured."""

    length: float | None = _same(Arrow, "length")
    mass: float | None = _same(Arrow, "mass")
    balance_point: float | None = _same(Arrow, "balance_point")
    static_spine: float | None = _same(Shaft, "static_spine")


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The single arrows of one set."""

    arrows: tuple[MeasuredArrow, ...] = fields.part(
        MeasuredArrow, "The arrows of one set, in any order.", fewest=1, most=MOST_MEASURED
    )


class OddArrow(TypedDict):
    """An arrow that differs from its set in one figure."""

    index: PlaceInRequest
    field: Annotated[Figure, "Figure in which the arrow differs."]
    value: Annotated[Measure, "The arrow's figure."]
    typical: Annotated[Measure, "Median of the set."]
    limit: Annotated[Measure, "How far from the median an arrow may lie."]


class LeastDifference(TypedDict):
    """A difference in one figure that is never odd."""

    field: Annotated[Figure, "The figure."]
    distance: Annotated[Measure, "The difference."]


class Thresholds(TypedDict):
    """What counts as odd."""

    deviations: Annotated[Number, "Number of robust standard deviations from the median."]
    fewest_arrows: Annotated[int, "Smallest number of measured arrows that is judged."]
    at_least: Annotated[list[LeastDifference], "Differences that never count as odd."]
    source: Annotated[str, "Key of its source in `/v1/sources`."]


class UnmeasuredFigure(TypedDict):
    """A figure of an arrow that was not given."""

    index: PlaceInRequest
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


class ConsistencyAnswer(ShortestLength, CommonWithoutRules):
    """Which arrows do not belong to their set."""

    odd: Annotated[list[OddArrow], "Arrows that do not belong to the set."]
    thresholds: Annotated[Thresholds, "What counts as odd."]
    unmeasured: Annotated[list[UnmeasuredFigure], "Figures that were not given."]
    not_told: NotTold


def answer(request: Request, context: Context) -> ConsistencyAnswer:
    """Name the arrows that do not belong to the set, and give its shortest length."""
    columns = {name: _column_of(request.arrows, name) for name in FIGURES}
    found = check_consistency(**columns)
    return {
        **_shortest_response(found),
        "odd": [_odd_response(one) for one in found.odd],
        "thresholds": {
            "deviations": Measure(limits.ODD_DEVIATIONS, "number"),
            "fewest_arrows": limits.CONSISTENCY_COUNT,
            "at_least": [{"field": name, "distance": _LEAST[name]} for name in FIGURES],
            "source": "project-consistency",
        },
        "unmeasured": [{"index": index, "field": name} for index, name in found.unmeasured],
        "not_checked": [
            {
                "what": f"Consistency of {name}: fewer than {limits.CONSISTENCY_COUNT} arrows "
                "were measured.",
                "fields": [f"arrows.{name}"],
            }
            for name in found.not_checked
        ],
        "not_told": encode_texts(cautions.NOT_TOLD),
        "cautions": encode_texts((cautions.AUTHORITY, cautions.BREAKING)),
        "engine": engine_response(context),
    }


def _column_of(arrows: tuple[MeasuredArrow, ...], name: Figure) -> Column:
    figures = (getattr(arrow, name) for arrow in arrows)
    return np.array([np.nan if one is None else one for one in figures], dtype=np.float64)


def _shortest_response(found: Consistency) -> ShortestLength:
    whole = all(name != "length" for _, name in found.unmeasured) and found.shortest is not None
    answer: ShortestLength = {"status": status_of(whole)}
    if found.shortest is not None:
        shortest = Measure(found.shortest, down=True)
        if whole:
            answer["shortest_length"] = shortest
        else:
            # An arrow that was not measured may be shorter.
            answer["shortest_length_at_most"] = shortest
    return answer


def _odd_response(one: odd_arrows.OddArrow) -> OddArrow:
    kind = _KINDS[one.figure]
    limit = Measure(one.limit, kind)
    if kind == "static_spine":
        # A difference of stiffness is no static spine.
        limit = Measure(100 * one.limit / one.typical, "percent")
    return {
        "index": one.index,
        "field": one.figure,
        "value": Measure(one.value, kind),
        "typical": Measure(one.typical, kind),
        "limit": limit,
    }
