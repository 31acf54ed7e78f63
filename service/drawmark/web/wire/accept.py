"""The media types that operations offer, and which of them a caller asks for."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, Final

from werkzeug.datastructures import MIMEAccept

from drawmark.web.wire.order_sheet import write_sheet

JSON: Final = "application/json"
CSV: Final = "text/csv"
Writer = Callable[[dict[str, Any]], bytes]
FORMATS: Final[dict[str, dict[str, Writer]]] = {"order": {CSV: write_sheet}}
"""By path, the media types offered beside JSON, and what writes a rendered answer in each."""


def choose_type(accept: MIMEAccept, offered: Iterable[str]) -> str:
    """Choose the offered media type that is asked for most; JSON wins a draw, and if none fits."""
    best, quality = JSON, float(accept.quality(JSON))
    for media_type in offered:
        asked = float(accept.quality(media_type))
        if asked > quality:
            best, quality = media_type, asked
    return best
