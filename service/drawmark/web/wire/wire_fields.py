"""Fields of the wire: what each kind of declaration is in a request, and nothing coerced.

Beside its marshmallow field, which words refusals, stands the type that accepts the same, its
JSON schema and its conversion to SI.
"""

from __future__ import annotations

import datetime
import re
from contextlib import suppress
from typing import Annotated, Any, Final, Literal

import marshmallow as ma
import msgspec

from drawmark.fitting.dates import Day
from drawmark.fitting.field_kinds import Choice, Flag, Number, Quantity, Spec, Text, Whole
from drawmark.web.wire.plain_field import PlainField, is_number
from drawmark.web.wire.quantity_field import QuantityField


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
