"""Verdicts, what decided them and what local rules changed, as text that fits a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

_HEAD: Final = ("archer", "what", "draw", "verdict", "arrow", "minimum", "advised")
_WIDTHS: Final = (8, 22, 16, 13, 9, 9, 9)
_WIDTH: Final = 88
_INDENT: Final = " " * 10

Answer = Mapping[str, Any]


def head() -> str:
    """Give the head of the table."""
    return f"{_line(_HEAD)}\n{'-' * (sum(_WIDTHS) + 2 * (len(_WIDTHS) - 1))}"


def row(name: str, what: str, request: Answer, answer: Answer) -> str:
    """Give one archer's line, and below it what decided."""
    cells = (
        name,
        what,
        drawn(request["archer"]),
        str(answer.get("verdict", "refused")),
        figure(request["arrow"]["length"]),
        figure(_minimum(answer)),
        figure(answer.get("recommended")),
    )
    return "\n".join([_line(cells), *map(indented, reasons_of(answer))])


def drawn(archer: Answer) -> str:
    """Give the draw with the word of its convention, or what it is estimated from."""
    if "draw_length" not in archer:
        return f"{figure(archer['arm_span'])} arm span"
    return f"{figure(archer['draw_length'])} {archer['draw_length_convention']}"


def unwatched(answer: Answer) -> str:
    """Say what would keep from a pass without a coach, from the answer that there is then."""
    return indented(
        f"passes since coach_checked is true; without it: {'; '.join(reasons_of(answer))}"
    )


def reasons_of(answer: Answer) -> list[str]:
    """Give what decided a verdict, or what was wrong with the request."""
    if "verdict" not in answer:
        return [f"{error['pointer']}: {error['detail']}" for error in answer["errors"]]
    return [reason(finding) for finding in worst_of_each(answer["findings"])] or [sum_of(answer)]


def worst_of_each(findings: Iterable[Answer]) -> list[Answer]:
    """Keep, of findings that say the same of several limits, the one with the greatest limit."""
    kept: dict[tuple[str, str], Answer] = {}
    for finding in findings:
        key = (finding["plugin"], finding["message"])
        if key not in kept or _limit(finding) > _limit(kept[key]):
            kept[key] = finding
    return list(kept.values())


def reason(finding: Answer) -> str:
    """Give one finding in words, with its figures and the plugin that it comes from."""
    figures = [
        f"{word} {figure(finding[word])}" for word in ("measured", "limit") if word in finding
    ]
    said = str(finding["message"]).rstrip(".") + (f" ({', '.join(figures)})" if figures else "")
    plugin = "" if finding["plugin"] == "core" else f" [{finding['plugin']}]"
    return f"{finding['severity']}: {said}{plugin}"


def sum_of(answer: Answer) -> str:
    """Give the terms of the minimum."""
    terms = (
        f"{figure(term['value'])} {term['term']}"
        for term in answer["derivation"]
        if term["value"]["value"]
    )
    return f"minimum {figure(_minimum(answer))} = {' + '.join(terms)}".replace("+ -", "- ")


def change(name: str, before: Answer, after: Answer) -> str:
    """Say what other rules changed for one archer and why; nothing where nothing changed."""
    said = [reason(finding) for finding in before["findings"]]
    fresh = [
        words
        for finding in worst_of_each(after["findings"])
        if (words := reason(finding)) not in said
    ]
    longer = _minimum(before) != _minimum(after)
    if not fresh and not longer and before["verdict"] == after["verdict"]:
        return ""
    line = f"{name.ljust(_WIDTHS[0])}  {_step(before['verdict'], after['verdict'])}"
    if longer:
        line += f", minimum {_step(figure(_minimum(before)), figure(_minimum(after)))}"
        fresh.append(sum_of(after))
    return "\n".join([line, *map(indented, fresh)])


def listed(sentences: Iterable[str]) -> str:
    """Give sentences as a list."""
    return "\n".join(
        textwrap.fill(one, _WIDTH, initial_indent="* ", subsequent_indent="  ") for one in sentences
    )


def figure(value: Any) -> str:
    """Give a figure with its unit, or a dash."""
    if value is None:
        return "-"
    if isinstance(value, Mapping):
        return f"{value['value']:.7g} {value['unit']}"
    return f"{value:.4g}"


def indented(text: str) -> str:
    """Give a sentence under a line of a table."""
    return textwrap.fill(text, _WIDTH, initial_indent=_INDENT, subsequent_indent=_INDENT + "  ")


def _minimum(answer: Answer) -> Any:
    return answer.get("minimum") or answer.get("minimum_at_least")


def _limit(finding: Answer) -> float:
    limit = finding.get("limit", 0.0)
    return float(limit["value"] if isinstance(limit, Mapping) else limit)


def _step(before: str, after: str) -> str:
    return before if before == after else f"{before} -> {after}"


def _line(cells: Sequence[str]) -> str:
    padded = (cell.ljust(width) for cell, width in zip(cells, _WIDTHS, strict=True))
    return "  ".join(padded).rstrip()
