"""Which arrows do not belong to their set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from drawmark.answers.common import cautions
from drawmark.answers.common.common_response import encode_texts, engine_response
from drawmark.answers.common.context import Answer, Context
from drawmark.fitting import fields, limits
from drawmark.fitting.columns import Column
from drawmark.fitting.kit.odd_arrows import (
    FIGURES,
    LEAST,
    Consistency,
    Figure,
    OddArrow,
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


def answer(request: Request, context: Context) -> Answer:
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
                "what": f"{name}: measured of fewer than {limits.CONSISTENCY_COUNT} arrows",
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


def _shortest_response(found: Consistency) -> Answer:
    whole = all(name != "length" for _, name in found.unmeasured) and found.shortest is not None
    said: Answer = {"status": "determinate" if whole else "indeterminate"}
    if found.shortest is not None:
        # An arrow that was not measured may be shorter.
        name = "shortest_length" if whole else "shortest_length_at_most"
        said[name] = Measure(found.shortest, down=True)
    return said


def _odd_response(one: OddArrow) -> Answer:
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
