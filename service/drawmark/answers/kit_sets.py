"""A mixed box of measured arrows sorted into sets that are alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Final, NotRequired, TypedDict

import numpy as np

from drawmark.answers.club.arrow_box import (
    SORTING_KINDS,
    Box,
    BoxArrow,
    Sorting,
    Tolerances,
)
from drawmark.answers.club.measured_arrows import NamedArrow, named_response
from drawmark.answers.club.members import repeated_ids
from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import Length, NotTold, Percent, SourceKey, Status
from drawmark.answers.common.common_response import (
    CommonWithoutRules,
    encode_texts,
    engine_response,
)
from drawmark.answers.common.context import Context
from drawmark.fitting import fields
from drawmark.fitting.columns import Column
from drawmark.fitting.faults import FittingError
from drawmark.fitting.kit.sorted_sets import find_incomplete, sort_into_sets
from drawmark.rules.model import Measure

NEEDS = ()
MOST_IN_BOX: Final = 2_000
MOST_IN_SET: Final = 24
_MOST_INCOMPLETE: Final = 20
_UNKNOWN: Final[dict[Sorting, str]] = {
    "mass": "Mass of the arrows",
    "balance_point": "Balance point of the arrows",
    "static_spine": "Static spine of the arrows",
    "point_mass": "Point mass of the arrows",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The box, and what a set is."""

    arrows: tuple[BoxArrow, ...] = fields.part(
        BoxArrow, "The arrows of the box, in any order.", fewest=1, most=MOST_IN_BOX
    )
    arrows_per_set: int = fields.whole(2, MOST_IN_SET, "Number of arrows in a set.", default=6)
    tolerances: Tolerances | None = fields.part(
        Tolerances,
        "How far the arrows of a set may lie apart. A figure with a tolerance counts. Without one "
        "it counts if any arrow has it.",
        default=None,
    )


class Tolerance(TypedDict):
    """How far the figures of one set may lie apart."""

    tolerance: NotRequired[Annotated[Measure, "Greatest less least."]]
    tolerance_percent: NotRequired[
        Annotated[
            Percent,
            "Given in place of `tolerance` for the static spine: of stiffnesses, in per cent of "
            "the weakest.",
        ]
    ]


class CountedFigure(Tolerance):
    """A figure that decides which arrows are alike."""

    field: Annotated[Sorting, "The figure."]
    source: SourceKey


class Range(TypedDict):
    """Least and greatest of one figure."""

    field: Annotated[Sorting, "The figure."]
    least: Annotated[Measure, "Least. Of the static spine, the weakest."]
    greatest: Annotated[Measure, "Greatest. Of the static spine, the stiffest."]


class SortedSet(TypedDict):
    """Arrows that make a set."""

    arrows: Annotated[list[NamedArrow], "The arrows."]
    shortest_length: Annotated[Length, "Shortest arrow of the set."]
    shortest_arrow: Annotated[NamedArrow, "Which arrow that is."]
    ranges: Annotated[list[Range], "Range of each figure that counts."]


class IncompleteSet(TypedDict):
    """Arrows that would make a set with others."""

    arrows: Annotated[list[NamedArrow], "The arrows."]
    needed: Annotated[int, "Number of arrows that are missing."]
    wanted: Annotated[list[Range], "Between what the figures of each missing arrow must lie."]


class UnplacedArrow(NamedArrow):
    """An arrow that cannot be placed."""

    fields: Annotated[list[Sorting], "Figures that count and were not given. Measure them."]


class SetsAnswer(CommonWithoutRules):
    """A box of arrows sorted into sets."""

    status: Status
    sets: Annotated[list[SortedSet], "The sets, the longest first."]
    most_sets: Annotated[
        int, "No sorting makes more sets than this. If it is more than were made, there may be one."
    ]
    incomplete: Annotated[
        list[IncompleteSet],
        "Arrows left over that are alike, at least half a set, the largest first. At most "
        f"{_MOST_INCOMPLETE} are listed.",
    ]
    left_over: Annotated[list[NamedArrow], "Measured arrows that are in no set."]
    unplaced: Annotated[
        list[UnplacedArrow], "Arrows in no set because a figure that counts was not given."
    ]
    counted: Annotated[list[CountedFigure], "Figures that count, with their tolerances."]
    not_told: NotTold


def answer(request: Request, context: Context) -> SetsAnswer:
    """Sort the arrows of each kind into as many sets as possible."""
    if faults := repeated_ids("arrows", request.arrows):
        raise FittingError(*faults)
    box = Box(request.arrows, request.tolerances or Tolerances())
    places, figures, tolerances = box.to_sort()
    found = sort_into_sets(figures, tolerances, request.arrows_per_set)
    rest = np.setdiff1d(np.arange(len(places)), [at for one in found.sets for at in one])
    groups = find_incomplete(figures[rest], tolerances, request.arrows_per_set)
    sets = [places[list(one)].tolist() for one in found.sets]
    incomplete = [places[rest[list(one)]].tolist() for one in groups]
    sets.sort(key=lambda one: (-box.length_of(box.shortest_of(one)), one))
    incomplete.sort(key=lambda one: (-len(one), one))
    return {
        "status": "determinate",
        "sets": [_set_response(box, one) for one in sets],
        "most_sets": found.most,
        "incomplete": [
            _incomplete_response(box, one, request.arrows_per_set)
            for one in incomplete[:_MOST_INCOMPLETE]
        ],
        "left_over": [named_response(request.arrows, at) for at in places[rest].tolist()],
        "unplaced": [
            {**named_response(request.arrows, at), "fields": box.missing(at)} for at in box.unplaced
        ],
        "counted": [_counted_response(box, name) for name in box.names],
        "not_checked": [
            {"what": f"{_UNKNOWN[name]}: no arrow has it.", "fields": [f"arrows.{name}"]}
            for name in _UNKNOWN
            if name not in box.names
        ],
        "not_told": encode_texts(cautions.NOT_TOLD),
        "cautions": encode_texts(
            (cautions.AUTHORITY, cautions.BREAKING, cautions.SHORTEST, cautions.SORTED)
        ),
        "engine": engine_response(context),
    }


def _set_response(box: Box, members: Sequence[int]) -> SortedSet:
    shortest = box.shortest_of(members)
    low, high = box.range_of(members)
    return {
        "arrows": [named_response(box.arrows, at) for at in members],
        "shortest_length": Measure(box.length_of(shortest), down=True),
        "shortest_arrow": named_response(box.arrows, shortest),
        "ranges": _ranges_response(box, low, high, wanted=False),
    }


def _incomplete_response(box: Box, members: Sequence[int], size: int) -> IncompleteSet:
    low, high = box.range_of(members)
    return {
        "arrows": [named_response(box.arrows, at) for at in members],
        "needed": size - len(members),
        "wanted": _ranges_response(box, high - box.tolerances, low + box.tolerances, wanted=True),
    }


def _ranges_response(box: Box, low: Column, high: Column, *, wanted: bool) -> list[Range]:
    # What is printed of a wanted range lies within it.
    return [
        {
            "field": name,
            "least": Measure(box.told(name, low[at]), SORTING_KINDS[name], up=wanted),
            "greatest": Measure(box.told(name, high[at]), SORTING_KINDS[name], down=wanted),
        }
        for at, name in enumerate(box.names)
    ]


def _counted_response(box: Box, name: Sorting) -> CountedFigure:
    tolerance, source = box.tolerance_of(name)
    if name == "static_spine":
        return {
            "field": name,
            "tolerance_percent": Measure(100 * tolerance, "percent"),
            "source": source,
        }
    return {"field": name, "tolerance": Measure(tolerance, SORTING_KINDS[name]), "source": source}
