"""Where a key stands in a TOML file: tomllib reads the file but does not tell its lines."""

from __future__ import annotations

import tomllib
from bisect import bisect_left
from typing import Any


def line_of(text: str, key: str) -> int | None:
    """Give the line at which a key begins, or else the nearest table above it; None for neither.

    The parser reads the file's first lines, more of them or fewer, until they just hold the key.
    """
    depth = _depth(tomllib.loads(text), key)
    if not depth:
        return None
    lines = [f"{line}\n" for line in text.split("\n")]
    last = bisect_left(
        range(len(lines)), depth, key=lambda count: _depth(_beginning(lines, count)[1], key)
    )
    return _beginning(lines, last - 1)[0] + 1


def _beginning(lines: list[str], most: int) -> tuple[int, dict[str, Any]]:
    """Read as many of the first lines as end with a whole value."""
    for count in range(most, 0, -1):
        try:
            return count, tomllib.loads("".join(lines[:count]))
        except tomllib.TOMLDecodeError:
            continue
    return 0, {}


def _depth(tree: Any, key: str) -> int:
    """Tell how many steps of a dotted key lead somewhere; a name may have dots in it."""
    if isinstance(tree, list):
        tree = dict(zip(map(str, range(len(tree))), tree, strict=True))
    if not isinstance(tree, dict):
        return 0
    for name, below in tree.items():
        if key == name:
            return 1
        if key.startswith(f"{name}."):
            return 1 + _depth(below, key[len(name) + 1 :])
    return 0
