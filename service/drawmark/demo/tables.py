"""What the service says of the whole club, as three tables that fit a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from drawmark.demo.table import figure, indented, reason

Answer = Mapping[str, Any]


def assigned(answer: Answer) -> str:
    """Show who shoots which set, with what calls for caution, and what the others would need."""
    given = [
        (one["archer"], one["set"], one["verdict"], figure(one["margin"]), _yes(one["in_window"]))
        for one in answer["assignments"]
    ]
    table = _table(("archer", "set", "verdict", "margin", "usual length"), given).splitlines()
    lines = table[:2]
    for line, one in zip(table[2:], answer["assignments"], strict=True):
        lines += [line, *map(indented, map(reason, one["findings"]))]
    return "\n".join([*lines, *map(_left, answer["unequipped"])])


def labelled(answer: Answer) -> str:
    """Show each set's label, and for how long the set stays safe for a growing archer."""
    rows = [
        (one["set"], figure(one.get("label")), str(one.get("safe_until_months", "-")))
        for one in answer["labels"]
    ]
    return _table(("set", "label", "months"), rows)


def bought(answer: Answer) -> str:
    """Show which lengths to buy for whom, and what more or fewer lengths would waste."""
    rows = [
        (
            figure(one.get("length") or one["length_at_least"]),
            str(one["count"]),
            ", ".join(one["archers"]),
        )
        for one in answer["lengths"]
    ]
    wastes = ", ".join(
        f"{one['lengths']}: {figure(one['waste']) if 'waste' in one else 'cannot serve all'}"
        for one in answer["curve"]
    )
    what = "Length beyond what each archer needs, over all arrows, by number of lengths"
    return f"{_table(('length', 'sets', 'for'), rows)}\n{indented(f'{what}: {wastes}.')}"


def _left(one: Answer) -> str:
    words = f"{one['archer']}: {one['reason'].replace('_', ' ')}; would need {one['remedy']}"
    length = one.get("would_need") or one["would_need_at_least"]
    return indented(f"{words} ({figure(length)}).")


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [head, *rows]
    widths = [max(len(line[place]) for line in lines) for place in range(len(head))]
    text = ["  ".join(_padded(line, widths)).rstrip() for line in lines]
    return "\n".join([text[0], "-" * max(map(len, text)), *text[1:]])


def _padded(line: Sequence[str], widths: Sequence[int]) -> list[str]:
    return [cell.ljust(width) for cell, width in zip(line, widths, strict=True)]
