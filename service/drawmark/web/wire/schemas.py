"""Marshmallow schemas built from declared dataclasses."""

from __future__ import annotations

from functools import cache
from typing import Any, Final

import marshmallow as ma

from drawmark.fitting.fields import (
    REQUIRED,
    Local,
    Part,
    Plain,
    Quantity,
    Spec,
    declared,
    takes_local,
)
from drawmark.web.wire.problems import UNKNOWN
from drawmark.web.wire.wire_fields import FIELDS

MISFIT: Final = "The request does not fit its schema."
WORDS: Final[dict[str, Any]] = {"required": "needed", "null": "must not be null"}


class Strict(ma.Schema):
    """A schema that refuses unknown fields."""

    error_messages = {"unknown": UNKNOWN, "type": "must be an object"}  # noqa: RUF012

    class Meta:
        """Unknown fields are refused."""

        unknown = ma.RAISE


def named(name: str, fields: dict[str, Any]) -> type[Strict]:
    """Make a schema class; its name becomes that of the component."""
    return type(f"{name}Schema", (Strict,), fields)


@cache
def schema_of(
    cls: type, name: str | None = None, local: type[Strict] | None = None
) -> type[Strict]:
    """Build the schema of a declared dataclass.

    `name` is that of its component, else the class's; `local` is the schema of the inputs of local
    rules, for classes that take them.
    """
    fields = {one: field_of(spec, default, local) for one, spec, default in declared(cls)}
    return named(name or cls.__name__, fields)


def field_of(spec: Spec, default: Any = None, local: type[Strict] | None = None) -> Any:
    """Build the field of one declaration; only defaults that stand on the wire are published."""
    options = described(spec.doc, default is REQUIRED)
    if spec.is_list:
        inner = _single(spec, {"error_messages": WORDS}, local)
        return list_of(inner, spec.fewest, spec.most, **options)
    on_wire = isinstance(spec, Plain) and not isinstance(spec, Quantity)
    if on_wire and default is not None and default is not REQUIRED:
        options["load_default"] = default
    return _single(spec, options, local)


def list_of(inner: Any, fewest: int | None, most: int | None, **options: Any) -> Any:
    """Build the field of a list."""
    return ma.fields.List(
        inner,
        validate=ma.validate.Length(min=fewest, max=most, error="must have {min} to {max} items"),
        **{**options, "error_messages": {**WORDS, "invalid": "must be a list"}},
    )


def described(text: str, required: bool = False) -> dict[str, Any]:
    """Give the options of a field: its meaning, and the message if it is missing."""
    return {"required": required, "metadata": {"description": text}, "error_messages": WORDS}


def _single(spec: Spec, options: dict[str, Any], local: type[Strict] | None) -> Any:
    if isinstance(spec, Plain):
        return FIELDS[type(spec)](spec, **options)
    if isinstance(spec, Local):
        assert local is not None
        return ma.fields.Nested(local, **options)
    assert isinstance(spec, Part)
    # A part that takes no such inputs is one schema, whatever rules there are.
    inner = schema_of(spec.cls, None, local) if takes_local(spec.cls) else schema_of(spec.cls)
    return ma.fields.Nested(inner, **options)
