"""Adds what declared fields mean to the text of their class, so that `help` shows it."""

from __future__ import annotations

import dataclasses
from typing import Final, TypeVar

from drawmark.fitting.field_kinds import Choice, Figure, Flag, Part, Quantity, Spec, Text, Whole
from drawmark.fitting.fields import spec_of
from drawmark.fitting.units import Dimension

_Class = TypeVar("_Class")
_SI: Final[dict[Dimension, str]] = {
    "length": "m",
    "mass": "kg",
    "force": "N",
    "mass_per_length": "kg/m",
    "frequency": "Hz",
    "static_spine": "N m^2",
}


def documented(cls: type[_Class]) -> type[_Class]:
    """Add what each declared field means to a class's own text, so that `help` shows it."""
    lines = [f"{cls.__doc__}", "", "Parameters", "----------"]
    for field in dataclasses.fields(cls):  # type: ignore[arg-type]
        spec = spec_of(field)
        kind = _kind_of(spec) or str(field.type).partition(" |")[0]
        if spec.is_list:
            kind = f"tuple of {kind}"
        lines.append(f"{field.name} : {kind if field.default is not None else f'{kind} or None'}")
        unit = f" [{_SI[spec.dimension]}]" if isinstance(spec, Quantity) else ""
        lines.append(f"    {spec.meaning.removesuffix('.')}{unit}.")
    cls.__doc__ = "\n".join(lines)
    return cls


def _kind_of(spec: Spec) -> str | None:
    if isinstance(spec, Part):
        return spec.cls.__name__
    if isinstance(spec, Choice):
        return " or ".join(f'"{word}"' for word in spec.choices)
    if isinstance(spec, Figure):
        return "int" if isinstance(spec, Whole) else "float"
    return {Flag: "bool", Text: "str"}.get(type(spec))
