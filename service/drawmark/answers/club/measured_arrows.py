"""Single arrows of a request, each as far as it was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final, NotRequired, TypedDict

from drawmark.answers.club.members import LONGEST_ID
from drawmark.answers.common.answer_types import PlaceInRequest
from drawmark.fitting import fields
from drawmark.fitting.kit.odd_arrows import Figure
from drawmark.fitting.model import Arrow, Shaft
from drawmark.rules.model import MeasureKind

KINDS: Final[dict[Figure, MeasureKind]] = {
    "length": "length",
    "mass": "mass",
    "balance_point": "length",
    "static_spine": "static_spine",
}


def same_field(cls: type, name: str) -> Any:
    """Declare a quantity as that of another class, which may be left out."""
    spec = fields.quantity_of(cls, name)
    return fields.quantity(spec.dimension, spec.low, spec.high, spec.doc, default=None)


@dataclass(frozen=True, kw_only=True, slots=True)
class MeasuredArrow:
    """One arrow of a set, as far as it was measured."""

    id: str | None = fields.text(
        LONGEST_ID, "Name of this arrow in the answer. Use each name once.", default=None
    )
    length: float | None = same_field(Arrow, "length")
    mass: float | None = same_field(Arrow, "mass")
    balance_point: float | None = same_field(Arrow, "balance_point")
    static_spine: float | None = same_field(Shaft, "static_spine")


class NamedArrow(TypedDict):
    """An arrow of the request."""

    index: PlaceInRequest
    id: NotRequired[Annotated[str, "`id` of the arrow, where it was given."]]


def named_response(arrows: Sequence[MeasuredArrow], index: int) -> NamedArrow:
    """Name an arrow by its place, and its `id` where it has one."""
    id = arrows[index].id
    return {"index": index} if id is None else {"index": index, "id": id}
