"""The service's answers as text that fits a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

_WIDTH: Final = 88
_INDENT: Final = " " * 10

Answer = Mapping[str, Any]
Row = tuple[Sequence[str], Sequence[str]]
"""Cells of a line, and the sentences below it."""


def table(head: Sequence[str], rows: Sequence[Row]) -> str:
    """Lay out rows below a head, each with its sentences."""
    widths = [
        max(map(len, column)) for column in zip(head, *(cells for cells, _ in rows), strict=True)
    ]
    text = [_line(head, widths), "-" * (sum(widths) + 2 * (len(widths) - 1))]
    for cells, sentences in rows:
        text += [_line(cells, widths), *map(indented, sentences)]
    return "\n".join(text)


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    padded = (cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
    return "  ".join(padded).rstrip()


def evening(rows: Sequence[Row]) -> str:
    """Show the fit checks of an evening."""
    return table(("archer", "what", "draw", "verdict", "arrow", "minimum", "advised"), rows)


def evening_row(
    name: str, what: str, request: Answer, answer: Answer, without_coach: Answer | None
) -> Row:
    """Give one archer's line and what decided, also without a coach if the verdict differs."""
    cells = (
        name,
        what,
        _draw(request["archer"]),
        str(answer.get("verdict", "refused")),
        figure(request["arrow"]["length"]),
        figure(_minimum(answer)),
        figure(answer.get("recommended")),
    )
    sentences = _reasons(answer)
    if without_coach is not None and without_coach["verdict"] != answer["verdict"]:
        reasons = "; ".join(_reasons(without_coach))
        sentences.append(f"A coach has checked this (coach_checked). Without that: {reasons}")
    return cells, sentences


def changes(name: str, before: Answer, after: Answer) -> str:
    """Say what other rules changed for one archer and why; empty if nothing changed."""
    known = [_reason(finding) for finding in before["findings"]]
    reasons = [
        reason
        for finding in _strictest(after["findings"])
        if (reason := _reason(finding)) not in known
    ]
    longer = _minimum(before) != _minimum(after)
    if not reasons and not longer and before["verdict"] == after["verdict"]:
        return ""
    line = f"{name.ljust(8)}  {_step(before['verdict'], after['verdict'])}"
    if longer:
        line += f", minimum {_step(figure(_minimum(before)), figure(_minimum(after)))}"
        reasons.append(_derivation(after))
    return "\n".join([line, *map(indented, reasons)])


def assignments(answer: Answer) -> str:
    """Show who shoots which set and why with caution, and what the others would need."""
    rows = [
        (
            (
                one["archer"],
                one["set"],
                one["verdict"],
                figure(one["margin"]),
                "yes" if one["in_window"] else "no",
            ),
            [_reason(finding) for finding in one["findings"]],
        )
        for one in answer["assignments"]
    ]
    shown = table(("archer", "set", "verdict", "margin", "usual length"), rows)
    return "\n".join([shown, *map(_unequipped, answer["unequipped"])])


def _unequipped(one: Answer) -> str:
    length = figure(one.get("would_need") or one["would_need_at_least"])
    reason = one["reason"].replace("_", " ")
    return indented(f"{one['archer']}: {reason}. {one['remedy']} Needs {length}.")


def labels(answer: Answer) -> str:
    """Show each set's label, and for how long the set stays safe for a growing archer."""
    rows = [
        ((one["set"], figure(one.get("label")), str(one.get("safe_until_months", "-"))), ())
        for one in answer["labels"]
    ]
    return table(("set", "label", "months"), rows)


def lengths(answer: Answer) -> str:
    """Show which lengths to buy for whom, and what more or fewer lengths would waste."""
    rows = [
        (
            (
                figure(one.get("length") or one["length_at_least"]),
                str(one["count"]),
                ", ".join(one["archers"]),
            ),
            (),
        )
        for one in answer["lengths"]
    ]
    wastes = ", ".join(
        f"{one['lengths']}: {figure(one['waste']) if 'waste' in one else 'cannot serve all'}"
        for one in answer["curve"]
    )
    what = "Length beyond what is recommended, over all arrows, by number of lengths"
    return f"{table(('length', 'sets', 'for'), rows)}\n{indented(f'{what}: {wastes}.')}"


def bullets(sentences: Iterable[str]) -> str:
    """Show sentences as a list."""
    return "\n".join(
        textwrap.fill(one, _WIDTH, initial_indent="* ", subsequent_indent="  ") for one in sentences
    )


def indented(text: str) -> str:
    """Show a sentence below a line of a table."""
    return textwrap.fill(text, _WIDTH, initial_indent=_INDENT, subsequent_indent=_INDENT + "  ")


def figure(value: Any) -> str:
    """Write a figure with its unit, or a dash."""
    if value is None:
        return "-"
    if isinstance(value, Mapping):
        return f"{value['value']:.7g} {value['unit']}"
    return f"{value:.4g}"


def _draw(archer: Answer) -> str:
    if "draw_length" not in archer:
        return f"{figure(archer['arm_span'])} arm span"
    return f"{figure(archer['draw_length'])} {archer['draw_length_convention']}"


def _reasons(answer: Answer) -> list[str]:
    """Give what decided a verdict, or what is wrong with the request."""
    if "verdict" not in answer:
        return [f"{error['pointer']}: {error['detail']}" for error in answer["errors"]]
    return list(map(_reason, _strictest(answer["findings"]))) or [_derivation(answer)]


def _strictest(findings: Iterable[Answer]) -> list[Answer]:
    """Keep the greatest limit of findings that say the same of several."""
    kept: dict[tuple[str, str], Answer] = {}
    for finding in findings:
        key = (finding["plugin"], finding["message"])
        if key not in kept or _limit(finding) > _limit(kept[key]):
            kept[key] = finding
    return list(kept.values())


def _reason(finding: Answer) -> str:
    figures = [
        f"{word} {figure(finding[word])}" for word in ("measured", "limit") if word in finding
    ]
    text = str(finding["message"]).rstrip(".") + (f" ({', '.join(figures)})" if figures else "")
    plugin = "" if finding["plugin"] == "core" else f" [{finding['plugin']}]"
    return f"{finding['severity']}: {text}{plugin}"


def _derivation(answer: Answer) -> str:
    """Give the terms of the minimum."""
    terms = (
        f"{figure(term['value'])} {term['term']}"
        for term in answer["derivation"]
        if term["value"]["value"]
    )
    return f"minimum {figure(_minimum(answer))} = {' + '.join(terms)}".replace("+ -", "- ")


def _minimum(answer: Answer) -> Any:
    return answer.get("minimum") or answer.get("minimum_at_least")


def _limit(finding: Answer) -> float:
    limit = finding.get("limit", 0.0)
    return float(limit["value"] if isinstance(limit, Mapping) else limit)


def _step(before: str, after: str) -> str:
    return before if before == after else f"{before} -> {after}"
