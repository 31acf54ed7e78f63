"""What a batch is: its items as they are read, and its limits."""

from __future__ import annotations

from typing import Final

import marshmallow as ma

from drawmark.web.schemas import Strict

BATCH_PATH: Final = "fit-check/batch"
MOST_ITEMS: Final = 10_000
MOST_FULL: Final = 1_000
"""Items of a batch that may ask for detail "full"."""
MOST_WORDED: Final = 100
"""Refusals that are worded in full."""
LONGEST_ID: Final = 100


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
