"""From accepted bodies to the dataclasses of the lower layers, in SI."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cache
from typing import Any, Final

from drawmark.fitting.fields import Spec, spec_of, takes_local
from drawmark.fitting.units import UNITS
from drawmark.web.wire.checker import attribute_of
from drawmark.web.wire.wire_fields import ranges_of

Units = dict[str, str]
Converter = Callable[[Any, Units], Any]
Inputs = tuple[tuple[str, type], ...]

# Whose unit an answer is given in, where the request used several of one dimension.
LEADING: Final = {
    "length": (("archer", "draw_length"), ("archer", "draws"), ("arrow", "length")),
    "mass": (("arrow", "point", "mass"),),
}


class OutOfRangeError(ValueError):
    """A quantity outside its range: the schema words it."""


@cache
def converter_of(cls: type, inputs: Inputs = ()) -> Converter:
    """Compile the conversion into a declared dataclass.

    Every request is converted, so a class's converter is one straight piece of code: read each
    field, convert it where it was given, and set it.

    Parameters
    ----------
    cls : type
        Dataclass.
    inputs : tuple
        Plugins' names and the dataclasses of their inputs, for classes that take them.

    Returns
    -------
    callable
        Takes an accepted struct and a dictionary that receives the first unit used for each
        dimension; gives an instance of `cls`. It raises OutOfRangeError.
    """
    declared = dataclasses.fields(cls)
    names: dict[str, Any] = {"cls": cls, "new": object.__new__}
    lines = ["def convert(struct, units):"]
    for place, field in enumerate(declared):
        step = _of_field(spec_of(field), inputs)
        lines.append(f"    value{place} = struct.{field.name}")
        if step is not None:
            names[f"step{place}"], names[f"default{place}"] = step, field.default
            lines.append(
                f"    value{place} = default{place} if value{place} is None "
                f"else step{place}(value{place}, units)"
            )
    if "__slots__" not in vars(cls) or hasattr(cls, "__post_init__"):
        given = ", ".join(f"{field.name}=value{place}" for place, field in enumerate(declared))
        lines.append(f"    return cls({given})")
    else:
        # A frozen dataclass sets each field by way of object.__setattr__, three times as slow.
        lines.append("    instance = new(cls)")
        for place, field in enumerate(declared):
            names[f"set{place}"] = getattr(cls, field.name).__set__
            lines.append(f"    set{place}(instance, value{place})")
        lines.append("    return instance")
    exec("\n".join(lines), names)
    converter: Converter = names["convert"]
    return converter


def leading_units(struct: Any, units: Units) -> None:
    """Let the draw or arrow length, and the point's mass, choose the units of the answer."""
    for dimension, ways in LEADING.items():
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


def local_converter_of(inputs: Inputs) -> Converter:
    """Make the conversion of the inputs of local rules into a dictionary by plugin."""
    steps = [(name, attribute_of(name), converter_of(cls)) for name, cls in inputs]

    def convert(struct: Any, units: Units) -> dict[str, object]:
        given = ((name, getattr(struct, attribute), step) for name, attribute, step in steps)
        return {name: step(value, units) for name, value, step in given if value is not None}

    return convert


def _of_field(spec: Spec, inputs: Inputs) -> Converter | None:
    single = _of_single(spec, inputs)
    if not spec.is_list:
        return single
    if single is None:
        return lambda values, units: tuple(values)
    return lambda values, units: tuple([single(value, units) for value in values])


def _of_single(spec: Spec, inputs: Inputs) -> Converter | None:
    if spec.kind == "local":
        return local_converter_of(inputs)
    if spec.kind == "part":
        assert spec.part is not None
        return (
            converter_of(spec.part, inputs) if takes_local(spec.part) else converter_of(spec.part)
        )
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
