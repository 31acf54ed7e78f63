"""Columns of cases: one item taken out of them, and columns that nobody can change."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any, TypeVar

import msgspec
import numpy as np

_Tree = TypeVar("_Tree")


@cache
def _names_of(cls: Any) -> tuple[str, ...]:
    if issubclass(cls, msgspec.Struct):
        return tuple(cls.__struct_fields__)
    if dataclasses.is_dataclass(cls):
        return tuple(field.name for field in dataclasses.fields(cls))
    return ()


def picker(value: _Tree) -> Callable[[int], _Tree]:
    """Make the function that takes one item out of a tree of columns, as plain figures."""
    return _picker(value) or _always(value)


def _picker(tree: Any) -> Callable[[int], Any] | None:
    """Make the same, or None where there is no column in the tree."""
    if isinstance(tree, np.ndarray):
        return tree.tolist().__getitem__  # type: ignore[no-any-return]
    cls: Any = type(tree)
    if cls is tuple:
        each = [_picker(one) for one in tree]
        if not any(each):
            return None
        ways = [way or _always(one) for way, one in zip(each, tree, strict=True)]
        return lambda at: tuple([way(at) for way in ways])
    found = {name: _picker(getattr(tree, name)) for name in _names_of(cls)}
    varied = [(name, way) for name, way in found.items() if way is not None]
    if not varied:
        return None
    same = {name: getattr(tree, name) for name, way in found.items() if way is None}
    return lambda at: cls(**same, **{name: way(at) for name, way in varied})


def _always(value: Any) -> Callable[[int], Any]:
    return lambda at: value


def shield(value: _Tree) -> _Tree:
    """Give the same tree with columns that cannot be written to."""
    tree: Any = value
    shielded: Any = value
    cls: Any = type(tree)
    if isinstance(tree, np.ndarray):
        if tree.flags.writeable:
            shielded = tree.view()
            shielded.flags.writeable = False
    elif cls is tuple:
        parts = [shield(one) for one in tree]
        if any(new is not old for new, old in zip(parts, tree, strict=True)):
            shielded = tuple(parts)
    elif names := _names_of(cls):
        parts = [shield(getattr(tree, name)) for name in names]
        if any(new is not getattr(tree, name) for new, name in zip(parts, names, strict=True)):
            shielded = cls(**dict(zip(names, parts, strict=True)))
    return shielded  # type: ignore[no-any-return]


def copied(value: _Tree) -> _Tree:
    """Give the same tree of columns, out of reach of whoever holds the first."""
    tree: Any = value
    if isinstance(tree, np.ndarray):
        return tree.copy()  # type: ignore[return-value]
    cls: Any = type(tree)
    names = _names_of(cls)
    return cls(**{name: copied(getattr(tree, name)) for name in names}) if names else value


def stacked(items: Sequence[_Tree]) -> _Tree | None:
    """Put dataclasses that are alike but for their figures into one of columns.

    Parameters
    ----------
    items : sequence
        Instances of one dataclass of figures, truths and words.

    Returns
    -------
    instance or None
        With a column for each figure; None where the items are not alike in all else.
    """
    made: dict[str, Any] = {}
    cls: Any = type(items[0])
    for name in _names_of(cls):
        values = [getattr(item, name) for item in items]
        if all(type(value) in (float, int) for value in values):
            made[name] = np.array(values, dtype=np.float64)
        elif all(value == values[0] for value in values[1:]):
            made[name] = values[0]
        else:
            return None
    return cls(**made)  # type: ignore[no-any-return]
