"""Trees of dataclasses with columns as leaves: items put into columns, and taken out of them."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Hashable, Sequence
from functools import cache
from operator import is_
from typing import Any, TypeVar

import msgspec
import numpy as np
from msgspec.structs import replace

from drawmark.fitting.columns import Whole
from drawmark.fitting.fields import reader_of

_Tree = TypeVar("_Tree")
_LEAVES = frozenset((type(None), float, int, bool, str))


def _names_of(tree: Any) -> tuple[str, ...]:
    cls: Any = type(tree)
    return _fields_of(cls)


@cache
def _fields_of(cls: Any) -> tuple[str, ...]:
    if dataclasses.is_dataclass(cls):
        return tuple(field.name for field in dataclasses.fields(cls))
    return tuple(getattr(cls, "__struct_fields__", ()))


@cache
def _getter_of(cls: Any) -> Callable[[Any], tuple[Any, ...]]:
    """Make the function that takes all parts of a tree."""
    if cls is tuple:
        return lambda tree: tree
    if cls is dict:
        return lambda tree: tuple(tree.values())
    return reader_of(_fields_of(cls))


def _parts_of(tree: Any) -> tuple[Any, ...]:
    cls: Any = type(tree)
    return _getter_of(cls)(tree)


def _with_parts(tree: Any, parts: Sequence[Any]) -> Any:
    cls = type(tree)
    if cls is tuple:
        return tuple(parts)
    if cls is dict:
        return dict(zip(tree, parts, strict=True))
    if hasattr(cls, "__post_init__") and any(isinstance(part, np.ndarray) for part in parts):
        # A plugin wrote it for single figures, and it has taken each of these already.
        instance = object.__new__(cls)
        for name, part in zip(_names_of(tree), parts, strict=True):
            object.__setattr__(instance, name, part)
        return instance
    return cls(**dict(zip(_names_of(tree), parts, strict=True)))


def _change_columns(tree: Any, change: Callable[[Any], Any]) -> Any:
    """Change every column of a tree; what has none stays the same object."""
    if type(tree) in _LEAVES:
        return tree
    if isinstance(tree, np.ndarray):
        return change(tree)
    parts = _parts_of(tree)
    # Most are leaves or columns, and a call for each would take longer than all the rest.
    changed = [
        part
        if (kind := type(part)) in _LEAVES
        else change(part)
        if kind is np.ndarray
        else _change_columns(part, change)
        for part in parts
    ]
    return tree if all(map(is_, changed, parts)) else _with_parts(tree, changed)


def picker(value: _Tree) -> Callable[[int], _Tree]:
    """Make the function that takes one item out of a tree of columns, as plain figures."""
    return _picker(value) or _always(value)


def _picker(tree: Any) -> Callable[[int], Any] | None:
    """Make the same, or None where there is no column in the tree."""
    if type(tree) in _LEAVES:
        return None
    if isinstance(tree, np.ndarray):
        return tree.tolist().__getitem__  # type: ignore[no-any-return]
    parts = _parts_of(tree)
    pickers = [(place, _picker(part)) for place, part in enumerate(parts)]
    varied = [(place, pick) for place, pick in pickers if pick is not None]
    if not varied:
        return None

    if isinstance(tree, msgspec.Struct):
        names = _names_of(tree)
        named = [(names[place], pick) for place, pick in varied]
        return lambda at: replace(tree, **{name: pick(at) for name, pick in named})

    def pick_parts(at: int) -> Any:
        picked = list(parts)
        for place, pick in varied:
            picked[place] = pick(at)
        return _with_parts(tree, picked)

    return pick_parts


def _always(value: Any) -> Callable[[int], Any]:
    return lambda at: value


def item_of(tree: _Tree, place: int) -> _Tree:
    """Take one item out of a tree of columns; for many items, a picker is faster."""
    return _change_columns(tree, lambda column: column.item(place))  # type: ignore[no-any-return]


def shield(value: _Tree) -> _Tree:
    """Give the same tree with columns that cannot be written to."""
    return _change_columns(value, _read_only)  # type: ignore[no-any-return]


def _read_only(column: Any) -> Any:
    if column.flags.writeable:
        column = column.view()
        column.flags.writeable = False
    return column


def copied(value: _Tree) -> _Tree:
    """Give the same tree with columns of its own."""
    return _change_columns(value, np.copy)  # type: ignore[no-any-return]


def take(tree: _Tree, places: Whole) -> _Tree:
    """Take items out of a tree of columns, in any order and as often as asked; not writable."""

    def taken(column: Any) -> Any:
        column = column[places]
        column.flags.writeable = False
        return column

    return _change_columns(tree, taken)  # type: ignore[no-any-return]


def group_alike(trees: Sequence[_Tree]) -> list[Whole]:
    """Give the places of trees that differ in nothing but their figures, group by group."""
    groups: dict[Hashable, list[int]] = {}
    for place, tree in enumerate(trees):
        groups.setdefault(_shape_of(tree), []).append(place)
    return [np.array(places) for places in groups.values()]


def _shape_of(tree: Any) -> Hashable:
    if type(tree) in (float, int):
        return (type(tree),)
    if type(tree) is dict:
        return tuple((name, _shape_of(tree[name])) for name in sorted(tree))
    parts = _parts_of(tree)
    return (type(tree), *map(_shape_of, parts)) if parts else tree


def stack_alike(trees: Sequence[_Tree]) -> _Tree:
    """Put alike trees into one, with a column for each figure that is not the same in all."""
    return _stack(trees)  # type: ignore[no-any-return]


def _stack(trees: Sequence[Any]) -> Any:
    first = trees[0]
    if type(first) in (float, int):
        if all(tree == first for tree in trees):
            return first
        return np.array(trees, dtype=np.int64 if type(first) is int else np.float64)
    if type(first) is dict:
        return {name: _stack([tree[name] for tree in trees]) for name in first}
    parts = list(zip(*map(_parts_of, trees), strict=True))
    return _with_parts(first, list(map(_stack, parts))) if parts else first
