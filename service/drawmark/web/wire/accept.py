"""Which of the types that an operation offers a caller asks for."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from werkzeug.datastructures import MIMEAccept

JSON: Final = "application/json"
CSV: Final = "text/csv"


def choose_type(accept: MIMEAccept, offered: Iterable[str]) -> str:
    """Choose JSON, unless another type that is offered is asked for more.

    Parameters
    ----------
    accept : MIMEAccept
        What the caller accepts, with the quality of each.
    offered : iterable of str
        Media types that the operation offers beside JSON.

    Returns
    -------
    str
        Media type of the answer; JSON too where nothing that is offered was asked for.
    """
    best, quality = JSON, float(accept.quality(JSON))
    for media_type in offered:
        asked = float(accept.quality(media_type))
        if asked > quality:
            best, quality = media_type, asked
    return best
