"""A quantity on the wire: a value with its unit, in a closed range that each unit states."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Any, Final, Literal

import marshmallow as ma
import msgspec

from drawmark.fitting.field_kinds import Quantity
from drawmark.fitting.units import DIMENSIONS, UNITS, Dimension, Unit
from drawmark.web.wire.plain_field import Converter, PlainField, Units, is_number
from drawmark.web.wire.problems import UNKNOWN, most_told

COMPONENTS: Final[dict[Dimension, str]] = {
    "length": "Length",
    "mass": "Mass",
    "force": "Force",
    "mass_per_length": "MassPerLength",
    "frequency": "Frequency",
    "static_spine": "StaticSpine",
}
_LIKELY: Final = {"g": "gr", "gr": "g"}


class OutOfRangeError(ValueError):
    """A quantity outside its range: the schema words it."""


def range_in(spec: Quantity, unit: Unit) -> tuple[float, float]:
    """Give the closed range of a quantity in one unit, as it is checked."""
    ends = sorted((_round(unit.from_si(spec.low)), _round(unit.from_si(spec.high))))
    return ends[0], ends[1]


def _round(value: Any) -> float:
    return float(f"{value:.6g}")


@cache
def ranges_of(spec: Quantity) -> dict[str, tuple[float, float]]:
    """Give the closed range of a quantity in each of its units."""
    return {unit.symbol: range_in(spec, unit) for unit in DIMENSIONS[spec.dimension]}


@cache
def quantity_type(dimension: Dimension) -> type[msgspec.Struct]:
    """Make the type of a value with its unit."""
    symbols = tuple(unit.symbol for unit in DIMENSIONS[dimension])
    return msgspec.defstruct(
        COMPONENTS[dimension],
        [("value", float), ("unit", Literal[symbols])],
        forbid_unknown_fields=True,
        gc=False,
    )


class QuantityField(PlainField):
    """A value with its unit, as one field."""

    @property
    def ranges(self) -> dict[str, tuple[float, float]]:
        """The closed range in each unit."""
        return ranges_of(self.spec)

    def _take(self, value: Any) -> Any:
        if not isinstance(value, Mapping):
            raise ma.ValidationError(
                f'must be an object like {{"value": 1, "unit": "{next(iter(self.ranges))}"}}: '
                "a figure without its unit is refused"
            )
        errors: dict[str, list[str]] = {
            name: [UNKNOWN] for name in most_told(value, ("value", "unit"))
        }
        figure, unit = value.get("value"), value.get("unit")
        if not is_number(figure):
            errors["value"] = ["must be a finite number"]
        if not isinstance(unit, str) or unit not in self.ranges:
            wrong = isinstance(unit, str) and unit in UNITS
            measures = f" ({unit} measures {UNITS[str(unit)].dimension})" if wrong else ""
            errors["unit"] = [f"must be one of {', '.join(self.ranges)}{measures}"]
        if not errors and (fault := self._fault_in_range(float(figure), str(unit))):  # type: ignore[arg-type]
            errors["value"] = [fault]
        if errors:
            raise ma.ValidationError(errors)
        return value

    def _fault_in_range(self, figure: float, unit: str) -> str | None:
        low, high = self.ranges[unit]
        if low <= figure <= high:
            return None
        text = f"must be from {low:g} to {high:g} {unit}"
        other = _LIKELY.get(unit)
        if other and self.ranges[other][0] <= figure <= self.ranges[other][1]:
            names = f"{unit} is the {UNITS[unit].name}, {other} the {UNITS[other].name}"
            text += f"; {names}: was {other} meant?"
        return text

    def _accepted(self) -> Any:
        return quantity_type(self.spec.dimension)

    def _json_schema(self) -> dict[str, Any]:
        ranges = "; ".join(
            f"{low:g} to {high:g} {unit}" for unit, (low, high) in self.ranges.items()
        )
        text = self.metadata.get("description", "")
        return {
            "$ref": f"#/components/schemas/{COMPONENTS[self.spec.dimension]}",
            "description": f"{text} Range: {ranges}.".strip(),
            # Validators read the range of each unit here; generators of clients pass over it.
            **_ranges_by_unit(list(self.ranges.items())),
            "examples": [self._example()],
        }

    def _example(self) -> dict[str, Any]:
        """Give a quantity from the middle of the range."""
        unit, (low, high) = next(iter(self.ranges.items()))
        middle = math.sqrt(low * high) if low > 0 else (low + high) / 2
        return {"value": float(f"{middle:.2g}"), "unit": unit}

    @staticmethod
    def converter(spec: Quantity) -> Converter:
        """Make the conversion into SI, which raises OutOfRangeError."""
        dimension = spec.dimension
        table = {
            symbol: (low, high, UNITS[symbol].factor, UNITS[symbol].reciprocal)
            for symbol, (low, high) in ranges_of(spec).items()
        }

        def convert(quantity: Any, units: Units) -> Any:
            value, unit = quantity.value, quantity.unit
            low, high, factor, reciprocal = table[unit]
            if not low <= value <= high:
                raise OutOfRangeError
            if dimension not in units:
                units[dimension] = unit
            return factor / value if reciprocal else value * factor

        return convert


def _ranges_by_unit(ranges: list[tuple[str, tuple[float, float]]]) -> dict[str, Any]:
    """State the range of each unit: if the unit is the first, its own, else that of the rest."""
    (unit, (low, high)), *rest = ranges
    own = {"properties": {"value": {"minimum": low, "maximum": high}}}
    if not rest:
        return own
    return {
        "if": {"properties": {"unit": {"const": unit}}},
        "then": own,
        "else": _ranges_by_unit(rest),
    }
