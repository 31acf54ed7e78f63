"""Reads the items of a batch: at once where all is well, else one by one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import marshmallow as ma
import msgspec

from drawmark.fitting.mechanics.arrow_validation import has_stations
from drawmark.web.batch.definition import (
    COUNT_OF_TAPERED,
    FULL_LIMIT,
    LIMIT,
    MOST_FULL,
    BatchSchema,
)
from drawmark.web.wire.length_limit import counted
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.problems import MISFIT, ProblemError, pointer, pointers
from drawmark.web.wire.request_body import BYTE_ORDER_MARK, has_mark
from drawmark.web.wire.split_body import outline

_REFUSED: Final = (msgspec.DecodeError, RecursionError, ValueError)


class _Raws(msgspec.Struct, forbid_unknown_fields=True):
    items: list[msgspec.Raw]


_decode_raws: Final = msgspec.json.Decoder(_Raws).decode


@dataclass(slots=True)
class Items:
    """Accepted items, None for the others; and the JSON of each, None where it is too long."""

    structs: list[Any]
    text_of: Callable[[int], bytes | None]


def read_batch(body: bytes, operation: Operation) -> Items:
    """Read the body of a batch; ProblemError if it is not one, or asks for too much."""
    raws: list[bytes | msgspec.Raw] = []

    def text_of(place: int) -> bytes:
        if not raws:
            raws.extend(_decode_raws(body).items)
        return bytes(raws[place])

    try:
        LIMIT.start()
        structs = batch_decoder(operation.struct).decode(body).items
    except _REFUSED:
        if has_mark(body):
            return read_batch(body.removeprefix(BYTE_ORDER_MARK), operation)
        structs = []
    if not structs:
        raws.extend(_load(body))
        structs = read_each(raws, operation)
    _verify_details(structs)
    return Items(structs, text_of)


def read_lines(lines: list[bytes | None], operation: Operation) -> Items:
    """Read items that stand one a line; a line is None where it is too long."""
    # A decoder of lines takes two items in a line, and one over two lines: then the answers would
    # stand beside the wrong items.
    return Items(read_each(lines, operation), lines.__getitem__)


def read_each(texts: Sequence[bytes | msgspec.Raw | None], operation: Operation) -> list[Any]:
    """Read items one by one; None for each that the checker does not accept."""
    read, structs = operation.decoder.decode, []
    for text in texts:
        try:
            structs.append(None if text is None else read(text))
        except _REFUSED:
            structs.append(None)
    return structs


@cache
def batch_decoder(struct: type[msgspec.Struct]) -> msgspec.json.Decoder[Any]:
    """Make the decoder of a whole batch."""
    items: Any = list[counted(struct, LIMIT)]  # type: ignore[misc]
    batch = msgspec.defstruct("Batch", [("items", items)], forbid_unknown_fields=True)
    return msgspec.json.Decoder(batch)


def _load(body: bytes) -> list[bytes]:
    """Give the items of a batch as they were sent; marshmallow words what is not a batch."""
    try:
        loaded: list[bytes] = BatchSchema().load(outline(body, (LIMIT,)))["items"]
    except ma.ValidationError as error:
        raise ProblemError(422, MISFIT, pointers(error.messages)) from error
    return loaded


def _verify_details(structs: Sequence[Any]) -> None:
    full = 0
    for place, struct in enumerate(structs):
        if struct is not None and struct.detail == "full":
            full += COUNT_OF_TAPERED if has_stations(struct.arrow) else 1
        if full > MOST_FULL:
            fault = {"pointer": pointer(("items", place, "detail")), "detail": FULL_LIMIT}
            raise ProblemError(422, "The batch asks for too much detail.", [fault])
