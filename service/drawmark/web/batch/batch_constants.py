"""What holds for every item of a batch, and so is said once beside them."""

from __future__ import annotations

from typing import Any, Final

from drawmark import __version__
from drawmark.answers.common import cautions

SAID_ONCE: Final[dict[str, Any]] = {
    "not_told": cautions.NOT_TOLD,
    "cautions": (*cautions.FIT, *cautions.HANGING),
    "engine": {"name": "drawmark", "version": __version__},
}
