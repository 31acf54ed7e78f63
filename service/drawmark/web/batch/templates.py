"""Writes the answers of a column of items from templates, without a tree for each."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from operator import itemgetter
from typing import Any, Final

import msgspec
import numpy as np

from drawmark.answers.common.common_response import unevaluated_response
from drawmark.answers.common.findings import finding_response
from drawmark.answers.common.fit_check_columns import Checks
from drawmark.fitting.columns import Whole
from drawmark.rules.batch_outcome import OutcomeColumns
from drawmark.rules.model import VERDICTS, Finding, Measure
from drawmark.rules.outcome import Attributed
from drawmark.web.batch.measures import UnitOf, write_measures
from drawmark.web.batch.single_item import entry_of

_encode: Final = msgspec.json.Encoder().encode
# Placeholders for what differs between items; JSON never contains these bytes.
_HOLE, _NUMBER, _LIST = (msgspec.Raw(sign) for sign in (b"\x00", b"\x01", b"[\x00]"))
_VERDICTS: Final = [_encode(verdict) for verdict in VERDICTS]


def write_checks(
    checks: Checks, unit_of: UnitOf, numbers: Sequence[int], ids: Sequence[str | None]
) -> list[bytes]:
    """Write an entry for each item of a column; NotFiniteError if a figure is not finite."""
    outcome = checks.outcome
    size, all_items = outcome.size, np.arange(outcome.size)
    minimum, recommended = (
        write_measures(Measure(column, up=True), all_items, unit_of)
        for column in (checks.minimum, np.where(checks.recommends, checks.recommended, 0.0))
    )
    columns: dict[str, Sequence[Any]] = {
        "number": numbers,
        "id": [_encode(one) for one in ids],
        "verdict": [_VERDICTS[severity] for severity in outcome.severities.tolist()],
        "minimum": minimum,
        "recommended": recommended,
        "findings": _findings(checks, unit_of),
        "unevaluated": _unevaluated(outcome),
    }
    named = np.array([bool(one) for one in ids])
    kinds = named + 2 * outcome.determinate + 4 * checks.recommends
    answers: list[bytes] = [b""] * size
    for kind in np.unique(kinds).tolist():
        names, template = _template(bool(kind & 1), bool(kind & 2), bool(kind & 4))
        here = np.flatnonzero(kinds == kind).tolist()
        chosen = [columns[name] for name in names]
        if len(here) == size:
            return list(map(template.__mod__, zip(*chosen, strict=True)))
        for at in here:
            answers[at] = template % tuple([column[at] for column in chosen])
    return answers


@cache
def _template(named: bool, determinate: bool, recommends: bool) -> tuple[list[str], bytes]:
    """Make the entry of an item, and name what is put into it, in order."""
    minimum = "minimum" if determinate else "minimum_at_least"
    result = {
        "verdict": _HOLE,
        "status": "determinate" if determinate else "indeterminate",
        minimum: _HOLE,
        **({"recommended": _HOLE} if recommends else {}),
        "findings": _LIST,
        "unevaluated": _HOLE,
    }
    entry = entry_of(_NUMBER, _HOLE if named else None, 200, result=result)
    names = ["number", *(["id"] if named else []), "verdict", "minimum"]
    names += [*(["recommended"] if recommends else []), "findings", "unevaluated"]
    return names, _with_holes(entry)


def _with_holes(tree: Any) -> bytes:
    text = _encode(tree).replace(b"%", b"%%")
    return text.replace(b"\x00", b"%b").replace(b"\x01", b"%d")


def _findings(checks: Checks, unit_of: UnitOf) -> list[bytes]:
    """Write the findings that made each item's verdict, in the order of a single check."""
    outcome = checks.outcome
    said = [b""] * outcome.size
    own: dict[int, list[tuple[int, bytes]]] = {at: [] for at in outcome.own}
    for place, placed, items in outcome.deciding():
        texts = _texts_of(placed, items, unit_of)
        for at, text in zip(items.tolist(), texts, strict=True):
            if at in own:
                own[at].append((place, text))
            else:
                said[at] = said[at] + b"," + text if said[at] else text
    for at, texts_own in own.items():
        said[at] = b",".join(text for _, text in sorted(texts_own, key=itemgetter(0)))
    return said


def _texts_of(placed: Attributed[Finding], items: Whole, unit_of: UnitOf) -> list[bytes]:
    answer: dict[str, Any] = {**finding_response(placed)}
    columns = []
    for name in ("measured", "limit"):
        if name in answer:
            columns.append(write_measures(answer[name], items, unit_of))
            answer[name] = _HOLE
    template = _with_holes(answer)
    if not columns:
        return [template % ()] * items.size
    return list(map(template.__mod__, zip(*columns, strict=True)))


def _unevaluated(outcome: OutcomeColumns) -> list[bytes]:
    common = _encode(unevaluated_response(tuple(outcome.common.unevaluated)))
    texts = [common] * outcome.size
    for at, own in outcome.own.items():
        if own.unevaluated:
            texts[at] = _encode(unevaluated_response(outcome.unevaluated_of(at)))
    return texts
