"""Schemas of the document: fields, quantities, and what goes together."""

from __future__ import annotations

from typing import Any, Final

from drawmark.fitting.units import DIMENSIONS, Dimension
from drawmark.web.wire.wire_fields import PlainField

# Widest ranges of the wire in SI; each field states its own in its description.
WIDEST: Final[dict[Dimension, tuple[float, float]]] = {
    "length": (-5.0, 100.0),
    "mass": (0.0, 1.0),
    "force": (0.0, 2000.0),
    "mass_per_length": (0.0005, 0.1),
    "frequency": (0.0, 1e5),
    "static_spine": (0.5, 50.0),
}


def attributes_of(self: Any, field: Any, **kwargs: Any) -> dict[str, Any]:
    """Describe a field of the wire, as a method of apispec's converter."""
    return field.json_schema if isinstance(field, PlainField) else {}


def quantity_of(dimension: Dimension, bounded: bool) -> dict[str, Any]:
    """Describe a quantity: one of a request, with its widest range, or one of an answer."""
    units = DIMENSIONS[dimension]
    named = "; ".join(f"{unit.symbol}, {unit.name}" for unit in units)
    value: dict[str, Any] = {"type": "number", "description": "The figure, in that unit."}
    if bounded:
        low, high = WIDEST[dimension]
        ends = [float(f"{unit.from_si(end):.6g}") for unit in units for end in (low, high) if end]
        value |= {"minimum": min([*ends, 0.0]) if low <= 0 else min(ends), "maximum": max(ends)}
    return {
        "type": "object",
        "properties": {
            "value": value,
            "unit": {
                "type": "string",
                "enum": [unit.symbol for unit in units],
                "description": f"Unit: {named}.",
            },
        },
        "required": ["value", "unit"],
        "additionalProperties": False,
        "description": "A figure with its unit. The exact range stands with each field."
        if bounded
        else "A figure with its unit.",
    }
