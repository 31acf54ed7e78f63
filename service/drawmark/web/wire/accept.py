"""The media types that operations offer, and which of them a caller asks for."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any, Final

from werkzeug.datastructures import MIMEAccept
from werkzeug.http import parse_accept_header

from drawmark.web.wire.order_sheet import write_sheet

JSON: Final = "application/json"
CSV: Final = "text/csv"
SVG: Final = "image/svg+xml"
HTML: Final = "text/html"
Writer = Callable[[dict[str, Any]], bytes]
FORMATS: Final[dict[str, dict[str, Writer]]] = {"order": {CSV: write_sheet}}
"""By path, the media types offered beside JSON, and what writes a rendered answer in each."""

DRAWN: Final[dict[str, tuple[str, ...]]] = {
    "fit-check": (SVG, HTML),
    "spine": (SVG,),
    "cut-plan": (SVG,),
    "kit/lengths": (SVG,),
    "kit/labels": (SVG, HTML),
    "kit/assignments": (HTML,),
    "order": (HTML,),
}
"""By path, the media types of its drawing and its paper; `web.drawings` makes them."""


LONGEST_ACCEPT: Final = 1000
"""A longer header is not read: that takes a second a megabyte, and browsers send 150 bytes."""


def choose_type(accept: str, offered: tuple[str, ...]) -> str:
    """Choose the offered media type that is asked for most; JSON wins a draw, and if none fits."""
    return JSON if len(accept) > LONGEST_ACCEPT else _read_choice(accept, offered)


@lru_cache(maxsize=128)
def _read_choice(accept: str, offered: tuple[str, ...]) -> str:
    asked = parse_accept_header(accept, MIMEAccept)
    best, quality = JSON, float(asked.quality(JSON))
    for media_type in offered:
        wanted = float(asked.quality(media_type))
        if wanted > quality:
            best, quality = media_type, wanted
    return best
