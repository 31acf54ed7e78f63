"""From accepted bodies to the dataclasses of the lower layers, in SI."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cache
from typing import Any

from msgspec import UNSET

from drawmark.fitting.fields import Spec, spec_of
from drawmark.fitting.units import UNITS
from drawmark.web.fields import ranges_of

Units = dict[str, str]
Converter = Callable[[Any, Units], Any]


class OutOfRangeError(ValueError):
    """A quantity outside its range: the schema words it."""


@cache
def converter_of(cls: type) -> Converter:
    """Compile the conversion into a declared dataclass.

    Parameters
    ----------
    cls : type
        Dataclass.

    Returns
    -------
    callable
        Takes an accepted struct and a dictionary that receives the first unit used for each
        dimension; gives an instance of `cls`.
    """
    members = [
        (field.name, _of_field(spec_of(field))) for field in dataclasses.fields(cls) if field.init
    ]

    def convert(struct: Any, units: Units) -> Any:
        known = {}
        for name, one in members:
            value = getattr(struct, name, UNSET)
            if value is not UNSET:
                known[name] = value if one is None else one(value, units)
        return cls(**known)

    return convert


def _of_field(spec: Spec) -> Converter | None:
    single = _of_single(spec)
    if not spec.is_list:
        return single
    if single is None:
        return lambda values, units: tuple(values)
    return lambda values, units: tuple([single(value, units) for value in values])


def _of_single(spec: Spec) -> Converter | None:
    if spec.kind == "part":
        assert spec.part is not None
        return converter_of(spec.part)
    if spec.kind != "quantity":
        return None
    dimension = str(spec.dimension)
    table = {
        symbol: (low, high, UNITS[symbol].to_si) for symbol, (low, high) in ranges_of(spec).items()
    }

    def convert(quantity: Any, units: Units) -> float:
        unit = quantity.unit
        low, high, to_si = table[unit]
        value = quantity.value
        if not low <= value <= high:
            raise OutOfRangeError
        if dimension not in units:
            units[dimension] = unit
        return to_si(value)  # type: ignore[return-value]

    return convert
