"""From accepted bodies to the dataclasses of the lower layers, in SI."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cache
from operator import attrgetter
from typing import Any, Final

from drawmark.fitting.fields import Spec, spec_of
from drawmark.fitting.units import UNITS
from drawmark.web.fields import ranges_of

Units = dict[str, str]
Converter = Callable[[Any, Units], Any]

# Whose unit an answer is given in, where the request used several of one dimension.
_LEADING: Final = {
    "length": (("archer", "draw_length"), ("archer", "draws"), ("arrow", "length")),
    "mass": (("arrow", "point", "mass"),),
}


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
        dimension; gives an instance of `cls`. It raises OutOfRangeError.
    """
    build = _builder_of(cls)
    names = tuple(field.name for field in dataclasses.fields(cls))
    read = attrgetter(*names) if len(names) > 1 else lambda struct: (getattr(struct, *names),)
    steps = [
        (place, step, field.default)
        for place, field in enumerate(dataclasses.fields(cls))
        if (step := _of_field(spec_of(field))) is not None
    ]

    def convert(struct: Any, units: Units) -> Any:
        values = list(read(struct))
        for place, step, default in steps:
            value = values[place]
            values[place] = default if value is None else step(value, units)
        return build(values)

    return convert


def _builder_of(cls: type) -> Callable[[list[Any]], Any]:
    names = [field.name for field in dataclasses.fields(cls)]
    if "__slots__" not in vars(cls) or hasattr(cls, "__post_init__"):
        return lambda values: cls(**dict(zip(names, values, strict=True)))
    # A frozen dataclass sets each field by way of object.__setattr__, three times as slow.
    setters = [vars(cls)[name].__set__ for name in names]

    def build(values: list[Any]) -> Any:
        instance: Any = object.__new__(cls)
        for place, value in zip(setters, values, strict=True):
            place(instance, value)
        return instance

    return build


def leading_units(struct: Any, units: Units) -> None:
    """Let the draw or arrow length, and the point's mass, choose the units of the answer."""
    for dimension, ways in _LEADING.items():
        for way in ways:
            unit = _unit_at(struct, way)
            if unit is not None:
                units[dimension] = unit
                break


def _unit_at(struct: Any, way: tuple[str, ...]) -> str | None:
    value = struct
    for name in way:
        value = getattr(value, name, None)
        if value is None:
            return None
    unit: str = value[0].unit if isinstance(value, list) else value.unit
    return unit


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
