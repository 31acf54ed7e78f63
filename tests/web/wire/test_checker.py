"""The compiled checker accepts nothing that the schemas refuse, and reads the same values."""

from __future__ import annotations

import copy
import json

import marshmallow as ma
import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.checker import type_of
from drawmark.web.wire.installed_rules import core_rules
from drawmark.web.wire.operations import operations_of
from drawmark.web.wire.quantity_field import OutOfRangeError

OPERATIONS = {operation.path: operation for operation in operations_of(core_rules())}
JUNK = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**6), 10**25),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(max_size=8),
    st.sampled_from(["in", "mm", "gr", "g", "astm", "clicker", "to_back", "carbon"]),
    st.lists(st.integers(0, 3), max_size=3),
    st.builds(
        lambda value, unit: {"value": value, "unit": unit},
        st.floats(-10, 4000, allow_nan=False),
        st.sampled_from(["in", "mm", "gr", "g", "N"]),
    ),
    st.just({}),
)


def ways_of(tree, path=()):
    yield path
    if isinstance(tree, dict):
        for name, below in tree.items():
            yield from ways_of(below, (*path, name))


def mutate(tree, path, name, junk):
    tree = copy.deepcopy(tree)
    inner = tree
    for step in path:
        inner = inner[step]
    if isinstance(inner, dict):
        inner[name] = junk
        return tree
    outer = tree
    for step in path[:-1]:
        outer = outer[step]
    outer[path[-1]] = junk
    return tree


@st.composite
def mutated(draw):
    path = draw(st.sampled_from(sorted(OPERATIONS)))
    tree = EXAMPLES[path]
    for _ in range(draw(st.integers(1, 3))):
        way = draw(st.sampled_from(list(ways_of(tree))))
        names = ["value", "unit", "length", "mass", "kind", "draws", "shaft", "point", "bow", "x"]
        tree = mutate(tree, way, draw(st.sampled_from(names)), draw(JUNK))
    return path, tree


@settings(max_examples=800)
@given(mutated())
def test_accepts_only_what_the_schema_accepts(case):
    path, tree = case
    operation = OPERATIONS[path]
    kind = type_of(operation.schema)
    try:
        accepted = msgspec.json.decode(json.dumps(tree).encode(), type=kind)
    except msgspec.DecodeError:
        return
    # A conversion empties lists of parts.
    operation_range_fault = _range_fault(operation, copy.deepcopy(accepted))
    try:
        loaded = operation.schema().load(tree)
    except ma.ValidationError:
        assert operation_range_fault
        return
    assert not operation_range_fault
    assert msgspec.convert(loaded, kind) == accepted


def _range_fault(operation, accepted):
    try:
        operation.convert(accepted, {})
    except OutOfRangeError:
        return True
    return False


@pytest.mark.parametrize("path", sorted(OPERATIONS))
def test_examples_take_the_fast_way(path):
    kind = type_of(OPERATIONS[path].schema)
    assert msgspec.json.decode(json.dumps(EXAMPLES[path]).encode(), type=kind)
