"""What a drawing holds: rows over one axis, each with the marks and bands that belong to it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NotRequired, TypedDict

from drawmark.fitting.columns import Real
from drawmark.rules.model import Measure

_PADDING = 0.06
_LEAST_SPAN = 0.02


class Mark(TypedDict):
    """A place on the axis."""

    name: str
    at: float


class Band(TypedDict):
    """A stretch of the axis."""

    name: str
    low: float
    high: float


class Row(TypedDict):
    """What is said of one thing: its words, where it lies, and its figures."""

    name: str
    words: str
    marks: list[Mark]
    bands: list[Band]
    figures: list[Measure]
    behind: NotRequired[Band]
    """A band that the row's text may cover."""
    heading: NotRequired[str]
    named: NotRequired[Measure]
    """A figure that stands before the words."""
    before: NotRequired[str]
    after: NotRequired[str]


class Drawing(TypedDict):
    """Rows over an axis."""

    title: str
    low: float
    high: float
    rows: list[Row]
    guides: list[Mark]
    """Marks drawn through all rows."""
    told: list[str]
    """Sentences below the title."""
    answer: Mapping[str, Any]


def row(
    name: str,
    words: str,
    *figures: Measure,
    at: Real | None = None,
    band: tuple[float, float] | None = None,
    heading: str | None = None,
    before: str | None = None,
    after: str | None = None,
) -> Row:
    """Give a row with at most one mark and one band, both of its own name."""
    drawn: Row = {
        "name": name,
        "words": words,
        "marks": [] if at is None else [{"name": name, "at": float(at)}],
        "bands": [] if band is None else [{"name": name, "low": band[0], "high": band[1]}],
        "figures": list(figures),
    }
    if heading is not None:
        drawn["heading"] = heading
    if before is not None:
        drawn["before"] = before
    if after is not None:
        drawn["after"] = after
    return drawn


def chart_of(
    title: str, rows: list[Row], answer: Mapping[str, Any], told: Sequence[str] = ()
) -> Drawing:
    """Give a drawing whose axis holds every row."""
    low, high = span_of(places_in(rows), least=0.0)
    return {
        "title": title,
        "low": low,
        "high": high if high > low else low + 1.0,
        "rows": rows,
        "guides": [],
        "told": list(told),
        "answer": answer,
    }


def places_in(rows: Iterable[Row]) -> Iterator[float]:
    """Give every place of rows."""
    for one in rows:
        for mark in one["marks"]:
            yield mark["at"]
        for band in one["bands"]:
            yield band["low"]
            yield band["high"]


def span_of(places: Iterable[float], least: float = _LEAST_SPAN) -> tuple[float, float]:
    """Give an axis that holds every place, with room on both sides."""
    known = tuple(places)
    low, high = min(known, default=0.0), max(known, default=0.0)
    room = max(high - low, least) * _PADDING + max(least - (high - low), 0.0) / 2
    return low - room, high + room
