"""Where a key stands in a TOML file: tomllib reads the file but does not tell its lines."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any, Final

_PIECES: Final = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}'
    r"|'''.*?'{3,5}"
    r'|"(?:\\.|[^"\\])*"'
    r"|'[^']*'"
    r"|#[^\n]*"
    r"""|[^"'#\[\]{}\n]+"""
    r"|.",
    re.DOTALL,
)
_DEEPEST: Final = 20
"""Dots in the longest way that is kept: a file could have thousands."""


def line_of(lines: Mapping[str, int], key: str) -> int | None:
    """Give the line at which a key begins, or else the nearest table above it; None for neither."""
    while key and key not in lines:
        key = key.rpartition(".")[0]
    return lines.get(key)


def lines_of(text: str) -> dict[str, int]:
    """Give the line at which each key of a sound file begins, by the dotted way to it.

    Each statement is read once, by itself: a file with many faults takes no longer than another.
    """
    lines: dict[str, int] = {}
    counts: dict[str, int] = {}
    table = ""
    for line, statement in _statements(text):
        tree = tomllib.loads(statement)
        if statement.startswith("["):
            table, ways = _table_of(tree, counts)
        else:
            ways = [*_ways_in(tree, table)]
        for way in ways:
            lines.setdefault(way, line)
    return lines


def _statements(text: str) -> Iterator[tuple[int, str]]:
    """Part a sound file into statements without remarks, each with its first line."""
    line = first = 1
    depth, pieces = 0, list[str]()
    for piece in _PIECES.findall(f"{text}\n"):
        line += piece.count("\n")
        if piece == "\n" and depth == 0:
            if statement := "".join(pieces).strip():
                yield first, statement
            first, pieces = line, []
            continue
        depth += (piece in ("[", "{")) - (piece in ("]", "}"))
        if not piece.startswith("#"):
            pieces.append(piece)


def _table_of(tree: Any, counts: dict[str, int]) -> tuple[str, list[str]]:
    """Give the way to a header's table, with the places in lists of tables, and all ways to it."""
    way, ways = "", list[str]()
    while tree and len(ways) < _DEEPEST:
        ((name, tree),) = tree.items()
        way = f"{way}.{name}" if way else name
        ways.append(way)
        if isinstance(tree, list):
            counts[way] = counts.get(way, -1) + 1
            (tree,) = tree
        if way in counts:
            way = f"{way}.{counts[way]}"
            ways.append(way)
    return way, ways


def _ways_in(tree: Any, above: str) -> Iterator[str]:
    if isinstance(tree, list):
        tree = dict(enumerate(tree))
    if not isinstance(tree, dict) or above.count(".") > _DEEPEST:
        return
    for name, below in tree.items():
        way = f"{above}.{name}" if above else f"{name}"
        yield way
        yield from _ways_in(below, way)
