"""What a batch is: its path and type, its limits, its items, and what it answers once for all."""

from __future__ import annotations

from typing import Any, Final

import marshmallow as ma

from drawmark import __version__
from drawmark.answers import fit_check
from drawmark.answers.common import cautions
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.length_limit import LengthLimit
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.schemas import Strict, described

BATCH_PATH: Final = "fit-check/batch"
NDJSON: Final = "application/x-ndjson"
MOST_ITEMS: Final = 10_000
MOST_FULL: Final = 1_000
"""Items of a batch that may ask for detail "full"."""
COUNT_OF_TAPERED: Final = 3
"""As so many of them one with a tapered shaft counts, which takes as long."""
FULL_LIMIT: Final = (
    f'At most {MOST_FULL} items of a batch may ask for detail "full". One whose shaft has stations '
    f"counts as {COUNT_OF_TAPERED}."
)
MOST_WORDED: Final = 100
"""Refusals that are worded in full."""
LONGEST_LINE: Final = 64 * 1024
"""Bytes of a line; a longer one is skipped and answered with a problem."""

COMMON: Final[dict[str, Any]] = {
    "not_told": cautions.NOT_TOLD,
    "cautions": (*cautions.FIT, *cautions.HANGING),
    "engine": {"name": "drawmark", "version": __version__},
}
"""What holds for every item, and is answered once."""


LIMIT: Final = LengthLimit("items", 1, MOST_ITEMS)


def _verify_items(value: object) -> None:
    if not isinstance(value, list):
        raise ma.ValidationError("must be a list")
    if not value:
        raise ma.ValidationError(LIMIT.words)


class BatchSchema(Strict):
    """A batch; its items are read one by one."""

    items = ma.fields.Raw(validate=_verify_items, **described("Fit checks.", required=True))


def batch_item(rules: Rules) -> Operation:
    """Give the fit check of one item of a batch."""
    return Operation(
        BATCH_PATH,
        fit_check,
        "FitCheckItem",
        "Many fit checks in one request.",
        rules,
        has_detail=True,
        in_batch=True,
    )
