"""Bodies that every operation must refuse, as large as it takes them, made from its schema."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import Any

import marshmallow as ma

from drawmark.fitting.dates import Day
from drawmark.fitting.field_kinds import Choice, Flag, Quantity, Text, Whole
from drawmark.web.batch.definition import BATCH_PATH
from drawmark.web.wire.installed_rules import core_rules
from drawmark.web.wire.operations import operations_of

HERE = "@"
"""Stands in a tree for JSON that is put in its place."""

Path = tuple[str, ...]


def least_of(field: Any) -> Any:
    """Make a value with no more than what is required."""
    if isinstance(field, ma.fields.List):
        return [least_of(field.inner)] * max(1, field.validators[0].min)
    if isinstance(field, ma.fields.Nested):
        return least_object(field.nested)
    return value_of(field)


def least_object(schema: Any) -> dict[str, Any]:
    return {name: least_of(one) for name, one in schema().fields.items() if one.required}


def full_of(field: Any) -> Any:
    """Make a value with all that it can have, and every figure within its range."""
    if isinstance(field, ma.fields.List):
        return [full_of(field.inner)] * field.validators[0].max
    if isinstance(field, ma.fields.Nested):
        return full_object(field.nested)
    return value_of(field)


def full_object(schema: Any) -> dict[str, Any]:
    return {name: full_of(field) for name, field in schema().fields.items()}


def value_of(field: Any) -> Any:
    spec = field.spec
    if isinstance(spec, Quantity):
        unit, (low, high) = next(iter(field.ranges.items()))
        return {"value": low + (high - low) / 3, "unit": unit}
    if isinstance(spec, Choice):
        return spec.choices[0]
    if isinstance(spec, Text):
        return "x" * spec.longest
    if isinstance(spec, Flag):
        return True
    if isinstance(spec, Day):
        return "2026-04-30"
    return int(spec.low) if isinstance(spec, Whole) else spec.low


def places_of(schema: Any, path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Give each member of a request once, those of the first item of a list too."""
    for name, field in schema().fields.items():
        yield (*path, name), field
        inner = getattr(field, "inner", field)
        if isinstance(inner, ma.fields.Nested):
            below = (*path, name, "0") if inner is not field else (*path, name)
            yield from places_of(inner.nested, below)


def body_with(schema: Any, path: Path, text: bytes) -> bytes:
    """Make the least body that has some JSON at a place."""
    tree: Any = least_object(schema)
    inner, fields = tree, schema().fields
    for name, after in zip(path, (*path[1:], None), strict=True):
        if name == "0":
            inner = inner[0]
        elif after is None:
            inner[name] = HERE
        else:
            field = fields[name]
            inner = inner.setdefault(name, least_of(field))
            fields = getattr(field, "inner", field).nested().fields
    if not path:
        tree = HERE
    return json.dumps(tree, separators=(",", ":")).encode().replace(b'"@"', text)


def filled(size: int, start: bytes, piece: bytes, end: bytes) -> bytes:
    """Repeat a piece of JSON as often as a size allows, with commas between."""
    count = max(2, (size - len(start) - len(end)) // (len(piece) + 1))
    return start + b",".join([piece] * count) + end


def numbered(size: int) -> bytes:
    """Make an object of members that nobody knows."""
    members = (b'"a%d":0' % number for number in range(size // 12))
    return b"{%b}" % b",".join(members)


MANY_UNKNOWN = b"{%b}" % b",".join(b'"u%d":0' % number for number in range(60))
LISTS: dict[str, Callable[[Any, int], bytes]] = {
    "numbers": lambda field, size: filled(size, b"[", b"1", b"]"),
    "empty objects": lambda field, size: filled(size, b"[", b"{}", b"]"),
    "empty lists": lambda field, size: filled(size, b"[", b"[]", b"]"),
    "unknown fields": lambda field, size: filled(size, b"[", MANY_UNKNOWN, b"]"),
    "too many": lambda field, size: filled(
        size, b"[", json.dumps(least_of(field.inner)).replace(" ", "").encode(), b"]"
    ),
}
VALUES: dict[str, Callable[[int], bytes]] = {
    "an object of unknown fields": numbered,
    "a list of empty lists": lambda size: filled(size, b"[", b"[]", b"]"),
    "a deep list": lambda size: b"[" * (size // 2) + b"]" * (size // 2),
    "a list of deep lists": lambda size: filled(size, b"[", b"[" * 30 + b"]" * 30, b"]"),
    "a long text": lambda size: b'"%b"' % (b"x" * (size - 2)),
    "a long text of escapes": lambda size: b'"%b"' % (b"\\n" * (size // 2 - 2)),
    "a long number": lambda size: b"9" * size,
    "byte-order marks": lambda size: b"\xef\xbb\xbf" * (size // 3),
}


def spoilt(tree: Any, spoil: Callable[[Any], Any], last: bool) -> Any:
    """Spoil each quantity of a tree, or only the last of each list."""
    if isinstance(tree, dict):
        if "unit" in tree:
            return spoil(tree)
        return {name: spoilt(below, spoil, last) for name, below in tree.items()}
    if isinstance(tree, list):
        start = tree[:-1] if last else []
        return start + [spoilt(below, spoil, last) for below in tree[len(start) :]]
    return tree


SPOILT: dict[str, tuple[Callable[[Any], Any], bool]] = {
    "the last figures out of range": (lambda one: {**one, "value": 1e30}, True),
    "every figure out of range": (lambda one: {**one, "value": 1e30}, False),
    "the last units wrong": (lambda one: {**one, "unit": "Hz"}, True),
    "every unit wrong": (lambda one: {**one, "unit": "Hz"}, False),
    "every figure bare": (lambda one: one["value"], False),
}


def bad_bodies(schema: Any, size: int) -> Iterator[tuple[str, bytes]]:
    """Give bodies of at most a size, each with what is wrong in it."""
    for name, value in VALUES.items():
        yield name, value(size)
    seen: set[type] = set()
    for path, field in places_of(schema):
        room = size - len(body_with(schema, path, b""))
        where = "/".join(path)
        if isinstance(field, ma.fields.List):
            for name, make in LISTS.items():
                yield f"{where}: {name}", body_with(schema, path, make(field, room))
        if type(field) not in seen:
            seen.add(type(field))
            for name, value in VALUES.items():
                yield f"{where}: {name}", body_with(schema, path, value(room))
    full = full_object(schema)
    full.pop("local", None)
    for name, (spoil, last) in SPOILT.items():
        yield name, json.dumps(spoilt(full, spoil, last), separators=(",", ":")).encode()


def large_bodies() -> Iterator[tuple[str, bytes]]:
    """Give, for each operation, bodies at its limit and beyond it."""
    for operation in operations_of(core_rules()):
        size = operation.body_limit
        yield operation.path, filled(2 * size, b"[", b"1", b"]")
        for path, field in places_of(operation.schema):
            if isinstance(field, ma.fields.List):
                room = size - len(body_with(operation.schema, path, b""))
                for make in LISTS.values():
                    yield operation.path, body_with(operation.schema, path, make(field, room))
    for size in (1 << 20, 16 << 20):
        yield BATCH_PATH, b'{"items":%b}' % filled(size - 20, b"[", b"{}", b"]")
        yield BATCH_PATH, b'{"items":{"a":%b}}' % filled(size - 20, b"[", b"1", b"]")
