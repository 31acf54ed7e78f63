"""The table of equipment limits: read from a file, every fault one line."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from drawmark.fitting.model import CONTROLS, KINDS
from drawmark.fitting.units import DIMENSIONS, UNITS, Dimension

OWN: Final = Path(__file__).with_name("limits.toml")
FACTS: Final[dict[str, Dimension | None]] = {
    "rest_position": "length",
    "outside_diameter": "length",
    "draw_weight": "force",
    "draw_control": None,
}
"""What a table may limit, and its dimension; words have none."""
MARKS: Final = ("read", "secondary", "memory")
MOST: Final = 40
_MEMBERS: Final = {
    *("article", "mark", "bows", "fact", "at_least", "at_most", "unit", "refused", "message")
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Limit:
    """One row: figures are in SI units."""

    body: str
    article: str
    mark: str
    fact: str
    message: str
    bows: tuple[str, ...] = KINDS
    at_least: float | None = None
    at_most: float | None = None
    refused: tuple[str, ...] = ()


def read_table(path: str) -> tuple[Limit, ...]:
    """Read a table, the plugin's own if the path is empty; ValueError at its first fault."""
    try:
        table = tomllib.loads((Path(path) if path else OWN).read_text(encoding="utf-8"))
    except OSError as error:
        raise ValueError(f"table {path} cannot be read: {error.strerror}") from error
    except ValueError as error:
        raise ValueError(f"table {path} is not TOML: {error}") from error
    body, rows = table.get("body"), table.get("limit")
    if not isinstance(body, str) or not isinstance(rows, list) or not 1 <= len(rows) <= MOST:
        raise ValueError(f"table {path} needs a text `body` and 1 to {MOST} tables `limit`")
    limits = []
    for number, row in enumerate(rows, 1):
        try:
            limits.append(_limit(body, row))
        except ValueError as error:
            raise ValueError(f"table {path}, limit {number}: {error}") from error
    return tuple(limits)


def _limit(body: str, row: Any) -> Limit:
    _require(isinstance(row, dict), "is not a table")
    unknown = ", ".join(sorted(row.keys() - _MEMBERS))
    _require(not unknown, f"unknown: {unknown}")
    texts: dict[str, Any] = {name: row.get(name) for name in ("article", "mark", "fact", "message")}
    for name, text in texts.items():
        _require(
            isinstance(text, str) and text.isprintable() and 0 < len(text) <= 200,
            f"`{name}` is not a short text",
        )
    _require(texts["mark"] in MARKS, f"`mark` is not one of {', '.join(MARKS)}")
    _require(texts["fact"] in FACTS, f"`fact` is not one of {', '.join(FACTS)}")
    bows = _words(row, "bows", KINDS) or KINDS
    dimension = FACTS[texts["fact"]]
    if dimension is None:
        refused = _words(row, "refused", CONTROLS)
        _require(refused, "`refused` is missing")
        _require(not row.keys() & {"at_least", "at_most", "unit"}, "words have no limit")
        return Limit(body=body, bows=bows, refused=refused, **texts)
    symbols = [unit.symbol for unit in DIMENSIONS[dimension]]
    _require(row.get("unit") in symbols, f"`unit` is not one of {', '.join(symbols)}")
    ends = {name: row[name] for name in ("at_least", "at_most") if name in row}
    _require(ends, "`at_least` or `at_most` is missing")
    _require("refused" not in row, "a figure has no `refused`")
    for name, figure in ends.items():
        _require(
            type(figure) in (int, float) and -1e4 < figure < 1e4, f"`{name}` is no such number"
        )
    unit = UNITS[row["unit"]]
    in_si = {name: float(unit.to_si(figure)) for name, figure in ends.items()}
    least, most = in_si.get("at_least"), in_si.get("at_most")
    return Limit(body=body, bows=bows, at_least=least, at_most=most, **texts)


def _words(row: dict[str, Any], name: str, known: tuple[str, ...]) -> tuple[str, ...]:
    words = row.get(name, [])
    _require(isinstance(words, list), f"`{name}` is not a list")
    _require(
        all(word in known for word in words), f"`{name}` has other words than {', '.join(known)}"
    )
    return tuple(words)


def _require(holds: object, fault: str) -> None:
    if not holds:
        raise ValueError(fault)
