"""Verdicts as a table that fits a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from typing import Any, Final

_HEAD: Final = ("archer", "what", "verdict", "arrow", "minimum", "advised")
_WIDTHS: Final = (8, 23, 13, 9, 9, 9)
_INDENT: Final = " " * 10


def head() -> str:
    """Give the head of the table."""
    line = "  ".join(word.ljust(width) for word, width in zip(_HEAD, _WIDTHS, strict=True))
    return f"{line.rstrip()}\n{'-' * (sum(_WIDTHS) + 10)}"


def row(name: str, what: str, request: Mapping[str, Any], answer: Mapping[str, Any]) -> str:
    """Give one archer's line, and below it what decided."""
    cells = (
        name,
        what,
        str(answer.get("verdict", "refused")),
        figure(request["arrow"]["length"]),
        figure(answer.get("minimum") or answer.get("minimum_at_least")),
        figure(answer.get("recommended")),
    )
    line = "  ".join(cell.ljust(width) for cell, width in zip(cells, _WIDTHS, strict=True))
    reasons = [
        textwrap.fill(reason, 88, initial_indent=_INDENT, subsequent_indent=_INDENT + "  ")
        for reason in reasons_of(answer)
    ]
    return "\n".join([line.rstrip(), *reasons])


def reasons_of(answer: Mapping[str, Any]) -> list[str]:
    """Give what decided a verdict, or what was wrong with the request."""
    if "verdict" not in answer:
        return [f"{error['pointer']}: {error['detail']}" for error in answer.get("errors", ())]
    return [reason(finding) for finding in answer["findings"]]


def reason(finding: Mapping[str, Any]) -> str:
    """Give one finding in words, with its figures."""
    figures = [
        f"{word} {figure(finding[word])}" for word in ("measured", "limit") if word in finding
    ]
    source = "" if finding["plugin"] == "core" else f" [{finding['plugin']}]"
    return str(finding["message"]) + (f" ({', '.join(figures)})" if figures else "") + source


def figure(value: Any) -> str:
    """Give a figure with its unit, or a dash."""
    if value is None:
        return "-"
    if isinstance(value, Mapping):
        return f"{value['value']:g} {value['unit']}"
    return f"{value:g}"
