"""Fields of the wire: quantities with units, and values that are not coerced."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

import marshmallow as ma

from drawmark.fitting.fields import Spec
from drawmark.fitting.units import DIMENSIONS, UNITS, Dimension, Unit
from drawmark.web.wire.problems import UNKNOWN

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


def range_in(spec: Spec, unit: Unit) -> tuple[float, float]:
    """Give the closed range of a quantity in one unit, as it is checked."""
    ends = sorted((_round(unit.from_si(spec.low)), _round(unit.from_si(spec.high))))
    return ends[0], ends[1]


def _round(value: Any) -> float:
    return float(f"{value:.6g}")


def ranges_of(spec: Spec) -> dict[str, tuple[float, float]]:
    """Give the closed range of a quantity in each of its units."""
    assert spec.dimension is not None
    return {unit.symbol: range_in(spec, unit) for unit in DIMENSIONS[spec.dimension]}


def is_number(value: object) -> bool:
    """Tell whether a JSON value is a finite number; booleans and strings are not."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return math.isfinite(value) if isinstance(value, float) else abs(value) < _LARGEST


class Quantity(ma.fields.Field[Any]):
    """A value with its unit, as one field."""

    def __init__(self, spec: Spec, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        assert spec.dimension is not None
        self.spec = spec
        self.dimension: Dimension = spec.dimension
        self.ranges = ranges_of(spec)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        symbols = ", ".join(self.ranges)
        if not isinstance(value, Mapping):
            raise ma.ValidationError(
                f'must be an object like {{"value": 1, "unit": "{next(iter(self.ranges))}"}}: '
                "a figure without its unit is refused"
            )
        errors: dict[str, list[str]] = {
            str(name): [UNKNOWN] for name in value if name not in ("value", "unit")
        }
        figure, unit = value.get("value"), value.get("unit")
        if not is_number(figure):
            errors["value"] = ["must be a finite number"]
        if not isinstance(unit, str) or unit not in self.ranges:
            wrong = isinstance(unit, str) and unit in UNITS
            measures = f" ({unit} measures {UNITS[str(unit)].dimension})" if wrong else ""
            errors["unit"] = [f"must be one of {symbols}{measures}"]
        if errors:
            raise ma.ValidationError(errors)
        low, high = self.ranges[str(unit)]
        if not low <= float(figure) <= high:  # type: ignore[arg-type]
            raise ma.ValidationError(
                {"value": [self._out_of_range(float(figure), str(unit))]}  # type: ignore[arg-type]
            )
        return value

    def _out_of_range(self, figure: float, unit: str) -> str:
        low, high = self.ranges[unit]
        text = f"must be from {low:g} to {high:g} {unit}"
        other = _LIKELY.get(unit)
        if other and self.ranges[other][0] <= figure <= self.ranges[other][1]:
            names = f"{unit} is the {UNITS[unit].name}, {other} the {UNITS[other].name}"
            text += f"; {names}: was {other} meant?"
        return text


class Number(ma.fields.Field[Any]):
    """A plain number; neither string nor boolean."""

    def __init__(self, spec: Spec, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.spec = spec

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not is_number(value):
            raise ma.ValidationError("must be a finite number")
        if not self.spec.low <= value <= self.spec.high:
            raise ma.ValidationError(f"must be from {self.spec.low:g} to {self.spec.high:g}")
        return float(value)


class Whole(Number):
    """A whole number."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not is_number(value) or value != int(value):
            raise ma.ValidationError("must be a whole number")
        super()._deserialize(value, attr, data, **kwargs)
        return int(value)


class Flag(ma.fields.Field[Any]):
    """True or false, nothing that looks like it."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, bool):
            raise ma.ValidationError("must be true or false")
        return value


class Choice(ma.fields.Field[Any]):
    """One word of a list."""

    def __init__(self, choices: tuple[str, ...], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.choices = choices

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str) or value not in self.choices:
            raise ma.ValidationError("must be one of " + ", ".join(self.choices))
        return value


class Text(ma.fields.Field[Any]):
    """A short text."""

    def __init__(self, longest: int, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.longest = longest

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str) or len(value) > self.longest:
            raise ma.ValidationError(f"must be a text of at most {self.longest} characters")
        return value
