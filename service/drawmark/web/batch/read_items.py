"""Reads the items of a batch: at once where all is well, else one by one."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import marshmallow as ma
import msgspec

from drawmark.web.batch.definition import MOST_FULL, MOST_ITEMS, BatchSchema
from drawmark.web.batch.salvage import split_items
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.problems import ProblemError, pointer, pointers
from drawmark.web.wire.request_body import decode
from drawmark.web.wire.schemas import MISFIT

# A character that JSON spells in two halves, or one of them without the other.
_HALF: Final = re.compile(rb"\\u[dD][89a-fA-F]")
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
    raws: list[msgspec.Raw] = []

    def text_of(place: int) -> bytes:
        if not raws:
            raws.extend(_decode_raws(body).items)
        return bytes(raws[place])

    try:
        structs = batch_decoder(operation.struct).decode(body).items
    except _REFUSED:
        raws.extend(_raws_of(body))
        structs = read_each(raws, operation)
    if not 1 <= len(structs) <= MOST_ITEMS:
        _load(body)
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
    items: Any = list[struct]  # type: ignore[valid-type]
    batch = msgspec.defstruct("Batch", [("items", items)], forbid_unknown_fields=True)
    return msgspec.json.Decoder(batch)


def _raws_of(body: bytes) -> list[msgspec.Raw]:
    try:
        return _decode_raws(body).items
    except _REFUSED as error:
        if isinstance(error, RecursionError) or _HALF.search(body):
            return list(map(msgspec.Raw, split_items(body)))
        return [msgspec.Raw(msgspec.json.encode(one)) for one in _load(body)]


def _load(body: bytes) -> list[Any]:
    """Load with marshmallow what is not a batch; it words the problem."""
    try:
        loaded: list[Any] = BatchSchema().load(decode(body))["items"]
    except ma.ValidationError as error:
        raise ProblemError(422, MISFIT, pointers(error.messages)) from error
    return loaded


def _verify_details(structs: Sequence[Any]) -> None:
    full = [
        place
        for place, struct in enumerate(structs)
        if struct is not None and struct.detail == "full"
    ]
    if len(full) > MOST_FULL:
        fault = {
            "pointer": pointer(("items", full[MOST_FULL], "detail")),
            "detail": f'At most {MOST_FULL} items of a batch may ask for "full".',
        }
        raise ProblemError(422, "The batch asks for too much detail.", [fault])
