"""What a field of the wire is: its marshmallow field, accepted type, JSON schema and conversion."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final

import marshmallow as ma

Units = dict[str, str]
"""The first unit that a request uses for each dimension."""
Converter = Callable[[Any, Units], Any]
"""Takes an accepted value, notes its units, and gives it in SI."""

_LARGEST: Final = 10**300


def is_number(value: object) -> bool:
    """Tell whether a JSON value is a finite number; booleans and strings are not."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return math.isfinite(value) if isinstance(value, float) else abs(value) < _LARGEST


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
