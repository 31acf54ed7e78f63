"""Fields of the wire: what each kind of declaration is in a request, and nothing coerced.

Beside its marshmallow field, which words refusals, stands the type that accepts the same, its
JSON schema and its conversion to SI.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Callable, Container, Mapping
from contextlib import suppress
from functools import cache
from heapq import nsmallest
from typing import Annotated, Any, Final, Literal

import marshmallow as ma
import msgspec

from drawmark.fitting.dates import Day
from drawmark.fitting.field_kinds import Choice, Flag, Number, Quantity, Spec, Text, Whole
from drawmark.fitting.units import DIMENSIONS, UNITS, Dimension, Unit
from drawmark.web.wire.problems import MOST_ERRORS, UNKNOWN

Units = dict[str, str]
"""The first unit that a request uses for each dimension."""
Converter = Callable[[Any, Units], Any]
"""Takes an accepted value, notes its units, and gives it in SI."""

COMPONENTS: Final[dict[Dimension, str]] = {
    "length": "Length",
    "mass": "Mass",
    "force": "Force",
    "mass_per_length": "MassPerLength",
    "frequency": "Frequency",
    "static_spine": "StaticSpine",
}
_LARGEST: Final = 10**300
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


def is_number(value: object) -> bool:
    """Tell whether a JSON value is a finite number; booleans and strings are not."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return math.isfinite(value) if isinstance(value, float) else abs(value) < _LARGEST


def most_told(members: Mapping[str, Any], known: Container[str]) -> list[str]:
    """Give the unknown members of an object that are worth telling, in order."""
    return nsmallest(MOST_ERRORS, (name for name in members if name not in known))


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


class PlainField(ma.fields.Field[Any]):
    """A field made from a plain declaration.

    Beside it stand `accepted`, a type that accepts nothing that the field refuses, and
    `json_schema`, which describes it in the document.
    """

    def __init__(self, spec: Any, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.spec = spec
        self.accepted: Any = self._accepted()
        self.json_schema: dict[str, Any] = self._json_schema()

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        return self._take(value)

    def _take(self, value: Any) -> Any:
        """Take a value of a request; ValidationError says what is wrong with it."""
        raise NotImplementedError

    def _accepted(self) -> Any:
        raise NotImplementedError

    def _json_schema(self) -> dict[str, Any]:
        raise NotImplementedError

    @staticmethod
    def converter(spec: Any) -> Converter | None:
        """Make the conversion into SI; None where the value stays as it is."""
        return None


class NumberField(PlainField):
    """A plain number; neither string nor boolean."""

    def _take(self, value: Any) -> Any:
        if not is_number(value):
            raise ma.ValidationError("must be a finite number")
        if not self.spec.low <= value <= self.spec.high:
            raise ma.ValidationError(f"must be from {self.spec.low:g} to {self.spec.high:g}")
        return float(value)

    def _accepted(self) -> Any:
        return Annotated[float, msgspec.Meta(ge=self.spec.low, le=self.spec.high)]

    def _json_schema(self) -> dict[str, Any]:
        return {"type": "number", "minimum": self.spec.low, "maximum": self.spec.high}


class WholeField(NumberField):
    """A whole number; it may be written as 3.0."""

    def _take(self, value: Any) -> Any:
        if not is_number(value) or value != int(value):
            raise ma.ValidationError("must be a whole number")
        super()._take(value)
        return int(value)

    def _accepted(self) -> Any:
        return Annotated[int, msgspec.Meta(ge=int(self.spec.low), le=int(self.spec.high))]

    def _json_schema(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": int(self.spec.low), "maximum": int(self.spec.high)}


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


class FlagField(PlainField):
    """True or false, nothing that looks like it."""

    def _take(self, value: Any) -> Any:
        if not isinstance(value, bool):
            raise ma.ValidationError("must be true or false")
        return value

    def _accepted(self) -> Any:
        return bool

    def _json_schema(self) -> dict[str, Any]:
        return {"type": "boolean"}


class ChoiceField(PlainField):
    """One word of a list."""

    def _take(self, value: Any) -> Any:
        if not isinstance(value, str) or value not in self.spec.choices:
            raise ma.ValidationError("must be one of " + ", ".join(self.spec.choices))
        return value

    def _accepted(self) -> Any:
        return Literal[self.spec.choices]

    def _json_schema(self) -> dict[str, Any]:
        return {"type": "string", "enum": list(self.spec.choices)}


class TextField(PlainField):
    """A short text."""

    def _take(self, value: Any) -> Any:
        if not isinstance(value, str) or len(value) > self.spec.longest:
            raise ma.ValidationError(f"must be a text of at most {self.spec.longest} characters")
        return value

    def _accepted(self) -> Any:
        return Annotated[str, msgspec.Meta(max_length=self.spec.longest)]

    def _json_schema(self) -> dict[str, Any]:
        return {"type": "string", "maxLength": self.spec.longest}


class DayField(PlainField):
    """A day of the calendar."""

    def _take(self, value: Any) -> Any:
        # Python also reads other ways to write a day.
        if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
            with suppress(ValueError):
                return datetime.date.fromisoformat(value)
        raise ma.ValidationError('must be a day like "2026-04-30"')

    def _accepted(self) -> Any:
        return datetime.date

    def _json_schema(self) -> dict[str, Any]:
        return {"type": "string", "format": "date"}


FIELDS: Final[dict[type[Spec], type[PlainField]]] = {
    Quantity: QuantityField,
    Number: NumberField,
    Whole: WholeField,
    Choice: ChoiceField,
    Flag: FlagField,
    Text: TextField,
    Day: DayField,
}
"""What each kind of plain declaration is on the wire."""
