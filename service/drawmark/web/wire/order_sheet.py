"""The order sheet as comma-separated values (RFC 4180) that a spreadsheet can open.

A spreadsheet takes a cell that begins with a sign for a formula. Texts come from requests, so
whatever could begin a cell, also where a spreadsheet parts cells at another mark, is preceded by
an apostrophe.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterator
from typing import Any, Final

import msgspec

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
_MARK: Final = "\ufeff"
_SIGNS: Final = frozenset("=+-@\u2212\u2013\u2014")
_START: Final = re.compile(r"(?:^|[,;|'\"])\s*")


def write_sheet(answer: dict[str, Any]) -> bytes:
    """Write a rendered order as CSV: lines, total, sets and cautions, told apart by `kind`.

    Parameters
    ----------
    answer : dict
        Answer of the order, its figures with units.

    Returns
    -------
    bytes
        UTF-8 with a byte order mark, lines ended by CR and LF.
    """
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, restval="", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(
        {name: guard(cell) if isinstance(cell, str) else cell for name, cell in row.items()}
        for row in _rows(answer)
    )
    return (_MARK + text.getvalue()).encode("utf-8", "replace")


def _rows(answer: dict[str, Any]) -> Iterator[dict[str, Any]]:
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
            "sets": " / ".join(line["sets"]),
        }
    yield {"kind": "total", "count": answer["total"], "note": f"status: {answer['status']}"}
    for one in answer["sets"]:
        yield {
            "kind": "set",
            "count": one["cut"] + one["uncut"],
            "sets": one["id"],
            "note": "; ".join((one["reason"], *_against(one))),
        }
    for one in answer["unevaluated"]:
        yield {
            "kind": "unevaluated",
            "note": f"{one['plugin']} {one['rule']}: {one['reason']}",
        }
    for one in _opened(answer["not_checked"]):
        yield {"kind": "not checked", "note": one["what"]}
    for caution in _opened(answer["cautions"]):
        yield {"kind": "caution", "note": caution}


def _against(one: dict[str, Any]) -> list[str]:
    """What the fit check has against a set."""
    return [f"{found['severity']}: {found['message']}" for found in one.get("findings", ())]


def _opened(part: Any) -> Any:
    """Open a part that many answers share and that is encoded once."""
    return msgspec.json.decode(part) if isinstance(part, msgspec.Raw) else part


def guard(text: str) -> str:
    """Make of a text one line that no spreadsheet takes for a formula."""
    plain = "".join(
        " " if unicodedata.category(sign) in ("Cc", "Cf", "Zl", "Zp") else sign for sign in text
    ).strip()
    parts: list[str] = []
    done = 0
    for found in _START.finditer(plain):
        end = found.end()
        if end < len(plain) and _begins_formula(plain[end]):
            parts.extend((plain[done:end], "'"))
            done = end
    return "".join((*parts, plain[done:]))


def _begins_formula(sign: str) -> bool:
    return unicodedata.normalize("NFKC", sign)[:1] in _SIGNS or sign in _SIGNS
