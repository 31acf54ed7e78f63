"""The order sheet as comma-separated values (RFC 4180) that a spreadsheet can open.

A spreadsheet takes a cell that begins with a sign for a formula. Texts come from requests, so an
apostrophe is put before each such sign wherever any spreadsheet may begin a cell.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterator
from typing import Any, Final

from drawmark.web.wire.render import decoded

COLUMNS: Final = (
    "kind",
    "shaft",
    "arrow_length",
    "tube_length",
    "unit",
    "uncut",
    "count",
    "stock_length",
    "sets",
    "note",
)
_BYTE_ORDER_MARK: Final = "\ufeff"
_SIGNS: Final = frozenset("=+-@\u2212\u2013\u2014")
_LONE_SLASH: Final = re.compile(r"(?<!\S)/(?!\S)")
_CELL_START: Final = re.compile(r"(?:^|[,;|'\"])\s*")


def write_sheet(answer: dict[str, Any]) -> bytes:
    """Write a rendered order as CSV; `kind` says what each row is."""
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, restval="", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(
        {
            name: guard(cell) if isinstance(cell, str) and name != "sets" else cell
            for name, cell in row.items()
        }
        for row in _rows(answer)
    )
    return (_BYTE_ORDER_MARK + text.getvalue()).encode("utf-8", "replace")


def _rows(answer: dict[str, Any]) -> Iterator[dict[str, Any]]:
    names = _names_of([one["id"] for one in answer["sets"]])
    for line in answer["lines"]:
        yield {
            "kind": "line",
            "shaft": line["shaft"],
            "arrow_length": line["arrow_length"]["value"],
            "tube_length": line["tube_length"]["value"],
            "unit": line["arrow_length"]["unit"],
            "uncut": "yes" if line["uncut"] else "no",
            "count": line["count"],
            "stock_length": line["stock_length"]["value"],
            "sets": " / ".join(names[one] for one in line["sets"]),
        }
    yield {"kind": "total", "count": answer["total"], "note": f"status: {answer['status']}"}
    for one in answer["sets"]:
        yield {
            "kind": "set",
            "count": one["cut"] + one["uncut"],
            "sets": names[one["id"]],
            "note": " ".join((one["reason"], *_findings(one))),
        }
    for one in answer["unevaluated"]:
        yield {
            "kind": "unevaluated",
            "note": f"{one['plugin']} {one['rule']}: {one['reason']}",
        }
    for one in decoded(answer["not_checked"]):
        yield {"kind": "not checked", "note": one["what"]}
    for caution in decoded(answer["cautions"]):
        yield {"kind": "caution", "note": caution}


def _names_of(ids: list[str]) -> dict[str, str]:
    """Give each set a name of its own that is safe in a cell, and in a list of names."""
    names: dict[str, str] = {}
    taken: set[str] = set()
    for number, identity in enumerate(ids, 1):
        name = _LONE_SLASH.sub("//", guard(identity))
        while name in taken or not name:
            name = f"{name} (set {number})".lstrip()
        taken.add(name)
        names[identity] = name
    return names


def _findings(one: dict[str, Any]) -> list[str]:
    return [
        f"{found['severity'].capitalize()}: {found['message']}" for found in one.get("findings", ())
    ]


def guard(text: str) -> str:
    """Make a text one line that no spreadsheet takes for a formula."""
    plain = "".join(
        " " if unicodedata.category(sign) in ("Cc", "Cf", "Zl", "Zp") else sign for sign in text
    ).strip()
    parts: list[str] = []
    done = 0
    for found in _CELL_START.finditer(plain):
        end = found.end()
        if end < len(plain) and _begins_formula(plain[end]):
            parts.extend((plain[done:end], "'"))
            done = end
    return "".join((*parts, plain[done:]))


def _begins_formula(sign: str) -> bool:
    return unicodedata.normalize("NFKC", sign)[:1] in _SIGNS or sign in _SIGNS
