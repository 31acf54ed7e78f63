"""Many fit checks in one request; one bad item spoils nothing."""

from __future__ import annotations

from typing import Any, Final

import msgspec

from drawmark.web.operation import Operation, decode
from drawmark.web.problems import ProblemError, problem
from drawmark.web.render import NotFiniteError

MOST_ITEMS: Final = 1000
MOST_WORDED: Final = 100


class _Batch(msgspec.Struct, forbid_unknown_fields=True):
    items: list[msgspec.Raw]


class _Id(msgspec.Struct):
    id: str | msgspec.UnsetType = msgspec.UNSET


def check_batch(body: bytes, item: Operation) -> bytes:
    """Answer a batch.

    Parameters
    ----------
    body : bytes
        `{"items": [...]}` with 1 to 1,000 fit checks.
    item : Operation
        The fit check of one item.

    Returns
    -------
    bytes
        JSON with a result or a problem for each item, in order.

    Raises
    ------
    ProblemError
        If the body is no batch.
    """
    try:
        raws = msgspec.json.decode(body, type=_Batch).items
    except (msgspec.DecodeError, RecursionError) as error:
        decode(body)
        raise _refusal("#/items", 'must be {"items": [...]} and nothing else') from error
    if not 1 <= len(raws) <= MOST_ITEMS:
        raise _refusal("#/items", f"must hold 1 to {MOST_ITEMS} items")
    parts = []
    worded = 0
    for index, raw in enumerate(raws):
        entry: dict[str, Any] = {"index": index}
        content = bytes(raw)
        try:
            entry["id"] = msgspec.json.decode(content, type=_Id).id
        except msgspec.DecodeError:
            entry["id"] = msgspec.UNSET
        try:
            entry["result"] = item.calculate(content)
            entry["status"] = 200
        except ProblemError as error:
            worded += 1
            entry["status"] = error.status
            entry["problem"] = (
                error.document()
                if worded <= MOST_WORDED
                else problem(error.status, "One of many: send this item alone to read why.")
            )
        except NotFiniteError:
            entry["status"] = 500
            entry["problem"] = problem(500, "The service failed on this item.")
        parts.append(
            msgspec.json.encode({k: v for k, v in entry.items() if v is not msgspec.UNSET})
        )
    return b'{"items":[' + b",".join(parts) + b"]}"


def _refusal(where: str, detail: str) -> ProblemError:
    return ProblemError(
        422, "The request does not fit its schema.", [{"pointer": where, "detail": detail}]
    )
