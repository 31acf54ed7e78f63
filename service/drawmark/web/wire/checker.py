"""Types compiled from the schemas that only accept: what they refuse, marshmallow words."""

from __future__ import annotations

import keyword
from functools import cache
from typing import Annotated, Any, Literal

import marshmallow as ma
import msgspec

from drawmark.fitting.units import DIMENSIONS, Dimension
from drawmark.web.wire.wire_fields import COMPONENTS, Choice, Flag, Number, Quantity, Text, Whole


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


def attribute_of(name: str) -> str:
    """Give the attribute that holds a member: plugins' names need not be identifiers."""
    attribute = name.replace("-", "_")
    return f"{attribute}_" if keyword.iskeyword(attribute) else attribute


@cache
def type_of(schema: type[ma.Schema]) -> type[msgspec.Struct]:
    """Compile a schema into a type that accepts nothing that the schema refuses."""
    members: list[Any] = []
    names: dict[str, str] = {}
    for wire, field in schema().fields.items():
        name = attribute_of(wire)
        names[name] = wire
        kind = _type_of_field(field)
        if field.required:
            members.append((name, kind))
        else:
            # The default is taken as it is, so null stays refused.
            default = None if field.load_default is ma.missing else field.load_default
            members.append((name, kind, default))
    return msgspec.defstruct(
        schema.__name__.removesuffix("Schema"),
        members,
        forbid_unknown_fields=True,
        kw_only=True,
        rename=names,
        # What was decoded holds no cycles; a batch would have the collector look for them.
        gc=False,
    )


def _type_of_field(field: Any) -> Any:
    if isinstance(field, Quantity):
        return quantity_type(field.dimension)
    if isinstance(field, Whole):
        return Annotated[int, msgspec.Meta(ge=int(field.spec.low), le=int(field.spec.high))]
    if isinstance(field, Number):
        return Annotated[float, msgspec.Meta(ge=field.spec.low, le=field.spec.high)]
    if isinstance(field, Choice):
        return Literal[field.choices]
    if isinstance(field, Flag):
        return bool
    if isinstance(field, Text):
        return Annotated[str, msgspec.Meta(max_length=field.longest)]
    if isinstance(field, ma.fields.List):
        length: Any = field.validators[0]
        return Annotated[
            list[_type_of_field(field.inner)],  # type: ignore[misc]
            msgspec.Meta(min_length=length.min, max_length=length.max),
        ]
    assert isinstance(field, ma.fields.Nested)
    return type_of(type(field.schema))
