"""What a batch is: its items as they are read, and its limits."""

from __future__ import annotations

from typing import Final

import marshmallow as ma

from drawmark.web.wire.schemas import Strict, list_of

BATCH_PATH: Final = "fit-check/batch"
MOST_ITEMS: Final = 10_000
MOST_FULL: Final = 1_000
"""Items of a batch that may ask for detail "full"."""
MOST_WORDED: Final = 100
"""Refusals that are worded in full."""


class BatchSchema(Strict):
    """A batch; its items are read one by one."""

    items = list_of(ma.fields.Raw(), 1, MOST_ITEMS, required=True)
