"""JSON schemas of answers, read from the TypedDicts that declare them."""

from __future__ import annotations

from types import NoneType, UnionType
from typing import (
    Annotated,
    Any,
    Final,
    Literal,
    NotRequired,
    Union,
    get_args,
    get_origin,
    get_type_hints,
    is_typeddict,
)

import msgspec

from drawmark.answers.common.answer_types import Kind
from drawmark.deprecation import Deprecated
from drawmark.rules.model import Measure
from drawmark.web.batch.definition import BATCH_PATH
from drawmark.web.document.batch_answer import BatchAnswer
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.quantity_field import COMPONENTS

Schema = dict[str, Any]


def ref(name: str) -> Schema:
    """Point at a component."""
    return {"$ref": f"#/components/schemas/{name}"}


_PLAIN: Final[dict[Any, Schema]] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    float: {"type": "number"},
    bool: {"type": "boolean"},
}
_KINDS: Final[dict[str, Schema]] = {
    **{dimension: ref(name) for dimension, name in COMPONENTS.items()},
    "distance": ref("Length"),
    "number": _PLAIN[float],
    "percent": _PLAIN[float],
}
_ANY_KIND: Final[Schema] = {
    "anyOf": [_PLAIN[float], *(_KINDS[dimension] for dimension in COMPONENTS)]
}


def answer_of(operation: Operation) -> Any:
    """Give the declared answer of an operation; that of the batch by the operation of its items."""
    if operation.path == BATCH_PATH:
        return BatchAnswer
    return get_type_hints(operation.module.answer)["return"]


def schema_of(hint: Any, components: dict[str, Schema]) -> Schema:
    """Give the schema of a member by its annotation; objects in it become components."""
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is NotRequired:
        return schema_of(arguments[0], components)
    if origin is Annotated:
        return _annotated(arguments[0], hint.__metadata__, components)
    if origin is Literal:
        if len(arguments) == 1:
            return {"type": "string", "const": arguments[0]}
        return {"type": "string", "enum": list(arguments)}
    if origin is list:
        return {"type": "array", "items": schema_of(arguments[0], components)}
    if origin is dict:
        schema: Schema = {"type": "object"}
        if arguments[1] is not Any:
            schema["additionalProperties"] = schema_of(arguments[1], components)
        return schema
    if origin in (Union, UnionType):
        (only,) = (one for one in arguments if one not in (msgspec.Raw, NoneType))
        return schema_of(only, components)
    if is_typeddict(hint):
        return _object(hint, components)
    return dict(_ANY_KIND if hint is Measure else _PLAIN[hint])


def _annotated(base: Any, notes: tuple[Any, ...], components: dict[str, Schema]) -> Schema:
    kinds = [note for note in notes if isinstance(note, Kind)]
    meanings = [note for note in notes if isinstance(note, str)]
    schema = dict(_KINDS[kinds[0].name]) if kinds else schema_of(base, components)
    if meanings:
        # The last is the outermost: what it means here, not what it means in general.
        schema["description"] = meanings[-1]
    for note in notes:
        if isinstance(note, Deprecated):
            schema["deprecated"] = True
            schema["description"] += f" {note.words}"
    return schema


def _object(declared: Any, components: dict[str, Schema]) -> Schema:
    name = declared.__name__
    if name not in components:
        hints = get_type_hints(declared, include_extras=True)
        described = {"type": "object", "description": " ".join(declared.__doc__.split())}
        if not hints:  # It may hold anything.
            components[name] = described
            return ref(name)
        components[name] = {
            **described,
            "properties": {name: schema_of(hint, components) for name, hint in hints.items()},
            "required": sorted(
                name for name, hint in hints.items() if get_origin(hint) is not NotRequired
            ),
            "additionalProperties": False,
        }
    return ref(name)
