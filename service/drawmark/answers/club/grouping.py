"""Puts what is alike in its fields into columns, so that it is computed together."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Hashable, Sequence
from typing import Any, TypeVar

import numpy as np

from drawmark.fitting.columns import Whole

_Tree = TypeVar("_Tree")
_FIGURE = object()


def group_alike(
    trees: Sequence[_Tree], alone: Callable[[_Tree], bool] = lambda tree: False
) -> list[Whole]:
    """Group trees of dataclasses that differ in nothing but their figures.

    Parameters
    ----------
    trees : sequence
        Dataclasses and dictionaries, with figures and tuples of as many figures.
    alone : callable
        Tells what is a group of its own, since it is computed in single figures only.

    Returns
    -------
    list of Whole
        The places of each group.
    """
    groups: dict[Hashable, list[int]] = {}
    for place, tree in enumerate(trees):
        shape = place if alone(tree) else _shape_of(tree)
        groups.setdefault(shape, []).append(place)
    return [np.array(places) for places in groups.values()]


def stack_alike(trees: Sequence[_Tree]) -> _Tree:
    """Put alike trees into one, with a column for each figure that is not the same in all."""
    return _stack(trees)  # type: ignore[no-any-return]


def take(tree: _Tree, places: Whole) -> _Tree:
    """Take items out of a tree of columns, in any order and as often as asked."""
    return _take(tree, places)  # type: ignore[no-any-return]


def _shape_of(tree: Any) -> Hashable:
    if type(tree) in (float, int):
        return _FIGURE
    if dataclasses.is_dataclass(tree):
        names = [field.name for field in dataclasses.fields(tree)]
        return (type(tree), *(_shape_of(getattr(tree, name)) for name in names))
    if isinstance(tree, dict):
        return tuple((name, _shape_of(tree[name])) for name in sorted(tree))
    if isinstance(tree, tuple):
        return tuple(_shape_of(one) for one in tree)
    return tree  # type: ignore[no-any-return]


def _stack(trees: Sequence[Any]) -> Any:
    first = trees[0]
    if type(first) in (float, int):
        same = all(tree == first for tree in trees)
        return first if same else np.array(trees, dtype=np.float64)
    if dataclasses.is_dataclass(first) and not isinstance(first, type):
        names = [field.name for field in dataclasses.fields(first)]
        made = {name: _stack([getattr(tree, name) for tree in trees]) for name in names}
        return type(first)(**made)
    if isinstance(first, dict):
        return {name: _stack([tree[name] for tree in trees]) for name in first}
    if isinstance(first, tuple):
        return tuple(_stack([tree[at] for tree in trees]) for at in range(len(first)))
    return first


def _take(tree: Any, places: Whole) -> Any:
    if isinstance(tree, np.ndarray):
        return tree[places]
    if dataclasses.is_dataclass(tree) and not isinstance(tree, type):
        names = [field.name for field in dataclasses.fields(tree)]
        made = {name: _take(getattr(tree, name), places) for name in names}
        return type(tree)(**made)
    if isinstance(tree, dict):
        return {name: _take(value, places) for name, value in tree.items()}
    if isinstance(tree, tuple):
        return tuple(_take(one, places) for one in tree)
    return tree
