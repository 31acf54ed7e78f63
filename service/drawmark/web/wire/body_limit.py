"""The largest body that an operation takes: what its schema may need."""

from __future__ import annotations

import json
from typing import Any, Final

import marshmallow as ma

from drawmark.fitting.field_kinds import Choice, Quantity, Text
from drawmark.fitting.units import DIMENSIONS
from drawmark.web.wire.request_body import AT_ONCE

LOCAL_SIZE: Final = 1024
"""What the inputs of local rules may take, whatever rules there are [byte]."""
_CHARACTER: Final = 6
"""Bytes of a character that is spelled as an escape."""
_FIGURE: Final = -1.2345678901234567e-300
"""No figure is spelled longer without need."""
_OTHER: Final = len(json.dumps(_FIGURE))


def body_limit_of(schema: type[ma.Schema]) -> int:
    """Give the size of the longest JSON with spaces after its signs, in full steps of 64 KiB."""
    return -(-_size_of_object(schema) // AT_ONCE) * AT_ONCE


def _size_of_object(schema: Any) -> int:
    members = (
        len(json.dumps({name: 0})) + (LOCAL_SIZE if name == "local" else _size_of(field))
        for name, field in schema().fields.items()
    )
    return sum(members)


def _size_of(field: Any) -> int:
    if isinstance(field, ma.fields.List):
        length: Any = field.validators[0]
        return 2 + int(length.max) * (2 + _size_of(field.inner))
    if isinstance(field, ma.fields.Nested):
        return _size_of_object(field.nested)
    spec = field.spec
    if isinstance(spec, Quantity):
        symbols = (unit.symbol for unit in DIMENSIONS[spec.dimension])
        return max(len(json.dumps({"value": _FIGURE, "unit": symbol})) for symbol in symbols)
    if isinstance(spec, Choice):
        return max(len(json.dumps(word)) for word in spec.choices)
    return 2 + _CHARACTER * spec.longest if isinstance(spec, Text) else _OTHER
