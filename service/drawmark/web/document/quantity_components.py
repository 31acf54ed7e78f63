"""Schemas of the document: fields, and quantities."""

from __future__ import annotations

from typing import Any

from drawmark.fitting.units import DIMENSIONS, Dimension
from drawmark.web.wire.plain_field import PlainField


def attributes_of(self: Any, field: Any, **kwargs: Any) -> dict[str, Any]:
    """Describe a field of the wire, as a method of apispec's converter."""
    return field.json_schema if isinstance(field, PlainField) else {}


def quantity_of(dimension: Dimension) -> dict[str, Any]:
    """Describe a quantity; the range that a field has stands beside its reference to it."""
    units = DIMENSIONS[dimension]
    named = "; ".join(f"{unit.symbol}, {unit.name}" for unit in units)
    return {
        "type": "object",
        "properties": {
            "value": {"type": "number", "description": "The figure, in that unit."},
            "unit": {
                "type": "string",
                "enum": [unit.symbol for unit in units],
                "description": f"Unit: {named}.",
            },
        },
        "required": ["value", "unit"],
        "additionalProperties": False,
        "description": "A figure with its unit.",
    }
