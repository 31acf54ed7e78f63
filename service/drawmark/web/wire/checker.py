"""Types compiled from the schemas that only accept: what they refuse, marshmallow words."""

from __future__ import annotations

import keyword
from functools import cache
from typing import Annotated, Any

import marshmallow as ma
import msgspec

from drawmark.web.wire.bounded_list import BoundedList
from drawmark.web.wire.plain_field import PlainField


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
        kind = type_of_field(field)
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
        omit_defaults=True,
        rename=names,
        # What was decoded holds no cycles; a batch would have the collector look for them.
        gc=False,
    )


def type_of_field(field: Any) -> Any:
    """Give the type of what a field accepts."""
    if isinstance(field, PlainField):
        return field.accepted
    if isinstance(field, BoundedList):
        length: Any = field.validators[0]
        return Annotated[
            list[type_of_field(field.inner)],  # type: ignore[misc]
            msgspec.Meta(min_length=length.min, max_length=length.max),
        ]
    assert isinstance(field, ma.fields.Nested)
    schema: Any = field.nested
    return type_of(schema)
