"""Where the figures of an answer come from, and what was assumed."""

from __future__ import annotations

from collections.abc import Container, Iterable
from functools import lru_cache
from typing import Annotated, TypedDict

import msgspec

from drawmark.answers.common.answer_types import SourceKey
from drawmark.fitting.mechanics.arrow_validation import assumptions_of
from drawmark.fitting.model import Arrow


class Assumption(TypedDict):
    """What was taken for a field."""

    field: Annotated[str, "Path of the field."]
    assumed: Annotated[str, "What was assumed."]


class FigureSource(TypedDict):
    """The source behind a figure."""

    figure: Annotated[str, "Path of the figure in this answer."]
    source: SourceKey


Assumptions = Annotated[
    list[Assumption], "What was assumed for fields that are missing or not used."
]
FigureSources = Annotated[list[FigureSource] | msgspec.Raw, "How the figures were worked out."]


def assumptions_response(arrow: Arrow) -> list[Assumption]:
    """List every default that was taken for an arrow."""
    return [{"field": ".".join(one.path), "assumed": one.text} for one in assumptions_of(arrow)]


def sources_response(sources: Iterable[tuple[str, str]], given: Container[str]) -> msgspec.Raw:
    """Name the source behind each figure whose member is given, in an answer without terms."""
    return _encode_sources(tuple(one for one in sources if one[0].partition(".")[0] in given))


@lru_cache(maxsize=16)
def _encode_sources(sources: tuple[tuple[str, str], ...]) -> msgspec.Raw:
    return msgspec.Raw(
        msgspec.json.encode([{"figure": figure, "source": key} for figure, key in sources])
    )
