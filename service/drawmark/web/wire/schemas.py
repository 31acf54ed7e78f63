"""Marshmallow schemas built from declared dataclasses."""

from __future__ import annotations

from functools import cache
from typing import Any, Final

import marshmallow as ma

from drawmark.fitting.field_kinds import Local, Part, Plain, Quantity, Spec
from drawmark.fitting.fields import REQUIRED, declared, takes_local
from drawmark.web.wire.bounded_list import BoundedList
from drawmark.web.wire.checker import type_of_field
from drawmark.web.wire.conversion import Inputs, step_of
from drawmark.web.wire.length_limit import LengthLimit
from drawmark.web.wire.problems import UNKNOWN, most_told
from drawmark.web.wire.wire_fields import FIELDS

WORDS: Final[dict[str, Any]] = {"required": "needed", "null": "must not be null"}


class Strict(ma.Schema):
    """A schema that refuses unknown fields."""

    error_messages = {"unknown": UNKNOWN, "type": "must be an object"}  # noqa: RUF012
    inputs: Inputs = ()
    """Where this is the schema of the inputs of local rules: their dataclasses, by plugin."""

    class Meta:
        """Unknown fields are refused, and no schema is kept for its name alone."""

        unknown = ma.RAISE
        register = False

    def handle_error(self, error: ma.ValidationError, data: Any, **_: Any) -> None:
        """Raise the faults anew: raised by the base class, they would keep the body in a cycle."""
        raise ma.ValidationError(error.messages)

    @ma.pre_load
    def _tell_few_unknown(self, data: Any, **_: Any) -> Any:
        if not isinstance(data, dict) or len(data) <= len(self.fields):
            return data
        unknown = most_told(data, self.fields)
        told = {*self.fields, *unknown}
        return {name: value for name, value in data.items() if name in told}


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
    fields = {one: field_of(spec, default, local, one) for one, spec, default in declared(cls)}
    return named(name or cls.__name__, fields)


def field_of(
    spec: Spec, default: Any = None, local: type[Strict] | None = None, name: str = ""
) -> Any:
    """Build the field of one declaration; only defaults that stand on the wire are published."""
    options = described(spec.meaning, default is REQUIRED)
    if spec.deprecated is not None:
        options["metadata"]["deprecated"] = True
    if spec.is_list:
        return _list_of(spec, local, name, options)
    on_wire = isinstance(spec, Plain) and not isinstance(spec, Quantity)
    if on_wire and default is not None and default is not REQUIRED:
        options["load_default"] = default
    return _single(spec, options, local)


def _list_of(
    spec: Spec, local: type[Strict] | None, name: str, options: dict[str, Any]
) -> BoundedList:
    fewest, most = spec.fewest or 0, spec.most
    assert most is not None
    inner = _single(spec, {"error_messages": WORDS}, local)
    # Only a list that is most of its body can be so long that decoding it costs much.
    held = options["required"] and isinstance(spec, Part)
    return BoundedList(
        inner,
        type_of_field(inner),
        step_of(spec.single, local.inputs if local else ()),
        LengthLimit(name, fewest, most) if held else None,
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
