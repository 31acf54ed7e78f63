"""Many fit checks in one request; one bad item spoils nothing."""

from __future__ import annotations

import logging
from typing import Any, Final

import marshmallow as ma
import msgspec

from drawmark.web.body import decode
from drawmark.web.operation import Operation
from drawmark.web.problems import ProblemError, pointers, problem
from drawmark.web.schemas import Strict

BATCH_PATH: Final = "fit-check/batch"
MOST_ITEMS: Final = 1000
MOST_WORDED: Final = 100
LONGEST_ID: Final = 100
log = logging.getLogger("drawmark")
_encode = msgspec.json.Encoder().encode


class BatchSchema(Strict):
    """A batch; its items are read one by one."""

    items = ma.fields.List(
        ma.fields.Raw(),
        required=True,
        validate=ma.validate.Length(min=1, max=MOST_ITEMS, error="must hold {min} to {max} items"),
        error_messages={
            "required": "needed",
            "null": "must not be null",
            "invalid": "must be a list",
        },
    )


class _Batch(msgspec.Struct, forbid_unknown_fields=True):
    items: list[msgspec.Raw]


class _Id(msgspec.Struct):
    id: str = ""


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
    parts = []
    faults = 0
    for index, raw in enumerate(_items_of(body)):
        content = bytes(raw)
        entry: dict[str, Any] = {"index": index, **_id_of(content)}
        try:
            parts.append(_encode({**entry, "status": 200, "result": item.calculate(content)}))
            continue
        except ProblemError as error:
            faults += 1
            status, worded = error.status, error.document()
        except Exception:
            log.exception("an item of a batch failed")
            status, worded = 500, problem(500, "The service failed on this item.")
        if faults > MOST_WORDED:
            worded = problem(status, "One of many: send this item alone to read why.")
        parts.append(_encode({**entry, "status": status, "problem": worded}))
    return b'{"items":[' + b",".join(parts) + b"]}"


def _items_of(body: bytes) -> list[msgspec.Raw]:
    try:
        items = msgspec.json.decode(body, type=_Batch).items
    except (msgspec.DecodeError, RecursionError):
        items = []
    if not 1 <= len(items) <= MOST_ITEMS:
        try:
            loaded = BatchSchema().load(decode(body))
        except ma.ValidationError as error:
            raise ProblemError(
                422, "The request does not fit its schema.", pointers(error.messages)
            ) from error
        return [msgspec.Raw(_encode(one)) for one in loaded["items"]]
    return items


def _id_of(content: bytes) -> dict[str, str]:
    try:
        given = msgspec.json.decode(content, type=_Id).id
    except (msgspec.DecodeError, RecursionError):
        return {}
    return {"id": given} if 0 < len(given) <= LONGEST_ID else {}
