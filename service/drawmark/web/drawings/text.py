"""Texts of drawings and papers: figures with units, widths and lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final
from unicodedata import east_asian_width

NO_BREAK: Final = "\u00a0"
_UNITS: Final = {"astm": "", "wood-lb": f"{NO_BREAK}lb (wood)"}
_WIDE: Final = 1.0
_LATIN_END: Final = "\u0250"
_USUAL: Final = 0.6
BOLD: Final = 1.15
"""How much wider bold text is."""


def number_text(value: float) -> str:
    """Write a figure without digits that say nothing."""
    text = str(value)
    return text.removesuffix(".0")


def figure_text(figure: Any) -> str:
    """Write a rendered figure, with its unit where it has one."""
    if not isinstance(figure, dict):
        return number_text(figure)
    unit = figure["unit"]
    return number_text(figure["value"]) + _UNITS.get(unit, f"{NO_BREAK}{unit}")


def range_text(figures: Sequence[Any]) -> str:
    """Write one figure, or a range of two with the unit once."""
    if len(figures) == 2:
        low, high = figures
        if isinstance(low, dict) and low["unit"] == high["unit"]:
            return f"{number_text(low['value'])} to {figure_text(high)}"
    return " to ".join(map(figure_text, figures))


def whose(unevaluated: Mapping[str, Any]) -> str:
    """Name a rule that could not be evaluated, or a whole plugin."""
    plugin: str = unevaluated["plugin"]
    return f"{unevaluated['rule']} of {plugin}" if unevaluated.get("rule") else plugin


def width_of(text: str, size: float) -> float:
    """Estimate the width of a text, rather too wide than too narrow."""
    if max(text, default="") < _LATIN_END:
        return len(text) * _USUAL * size
    return size * sum(_USUAL if east_asian_width(one) in "NaH" else _WIDE for one in text)


def shortened(text: str, size: float, room: float) -> str:
    """Give as much of a text as fits."""
    if width_of(text, size) <= room:
        return text
    while text and width_of(text + "…", size) > room:
        text = text[:-1]
    return f"{text.rstrip()}…"


def lines_of(text: str, size: float, room: float, most: int) -> list[str]:
    """Break a text into lines that fit; what is left out is marked."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        joined = f"{line} {word}" if line else word
        if not line or width_of(joined, size) <= room:
            line = joined
            continue
        lines.append(shortened(line, size, room))
        line = word
        if len(lines) == most:
            lines[-1] = shortened(f"{lines[-1]} …", size, room)
            return lines
    return [*lines, shortened(line, size, room)] if line else lines
