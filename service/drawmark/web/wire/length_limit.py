"""Ends the decoding of a list at its limit, before the items beyond it are built."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from typing import Annotated, Any

import msgspec

from drawmark.web.wire.problems import MISFIT, ProblemError, pointer


class LengthLimit:
    """Counts the items of one list of a body, apart for each thread."""

    def __init__(self, name: str, fewest: int, most: int) -> None:
        self.name, self.fewest, self.most = name, fewest, most
        self.words = f"must have {fewest} to {most} items"
        self._read = threading.local()

    def start(self) -> None:
        """Begin to count."""
        self._read.items = 0

    def count(self, *_: object) -> None:
        """Count one item; ProblemError if it is one too many."""
        read = self._read
        read.items += 1
        if read.items > self.most:
            fault = {"pointer": pointer((self.name,)), "detail": self.words}
            raise ProblemError(422, MISFIT, [fault])


Struct = type[msgspec.Struct]


def with_limits(struct: Struct, items: Mapping[LengthLimit, Struct]) -> Struct:
    """Make a type of bodies whose lists end at their limits; `items` are the types of theirs."""
    members = [
        (
            limit.name,
            Annotated[list[counted(kind, limit)], msgspec.Meta(min_length=limit.fewest)],  # type: ignore[misc]
        )
        for limit, kind in items.items()
    ]
    return msgspec.defstruct(struct.__name__, members, bases=(struct,), kw_only=True)


def counted(struct: Struct, limit: LengthLimit) -> Struct:
    """Make a type of items that are counted as they are decoded."""

    def __post_init__(item: Any) -> None:  # noqa: N807
        limit.count()

    return msgspec.defstruct(
        struct.__name__, [], bases=(struct,), namespace={"__post_init__": __post_init__}
    )
