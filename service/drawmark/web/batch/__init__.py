"""Many fit checks in one request; one bad item spoils nothing."""

from __future__ import annotations

from drawmark.web.batch.batch_schema import BATCH_PATH, MOST_FULL, MOST_ITEMS, MOST_WORDED
from drawmark.web.batch.stream import NDJSON
from drawmark.web.batch.view import batch_view, check_batch

__all__ = [
    "BATCH_PATH",
    "MOST_FULL",
    "MOST_ITEMS",
    "MOST_WORDED",
    "NDJSON",
    "batch_view",
    "check_batch",
]
