"""Many fit checks in one request; one bad item spoils nothing."""

from __future__ import annotations

from drawmark.web.batch.items import Tally, answer_items
from drawmark.web.batch.reading import compile_reader, read_batch
from drawmark.web.batch.schema import BATCH_PATH, MOST_FULL, MOST_ITEMS, MOST_WORDED
from drawmark.web.operation import Operation

__all__ = ["BATCH_PATH", "MOST_FULL", "MOST_ITEMS", "MOST_WORDED", "check_batch", "compile_reader"]


def check_batch(body: bytes, item: Operation) -> bytes:
    """Answer a batch.

    Parameters
    ----------
    body : bytes
        `{"items": [...]}` with 1 to 10,000 fit checks.
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
    entries = answer_items(read_batch(body, item), item, Tally())
    return b'{"items":[' + b",".join(entries) + b"]}"
