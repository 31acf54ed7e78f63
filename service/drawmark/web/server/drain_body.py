"""The rest of a request's body, where it was refused before all of it was read.

The server gives up a connection on which more than a little is left unread. Its caller, who still
sends, may then lose the refusal, and a caller that keeps connections its next request.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from contextlib import suppress
from typing import Any, Final

from werkzeug.wsgi import ClosingIterator

LITTLE: Final = 32 * 1024
"""What the server reads itself [byte]."""
PATIENCE: Final = 5.0
"""How long a caller may take to send the rest [s]."""
_BLOCK: Final = 64 * 1024


def is_large(environ: dict[str, Any], most: int) -> bool:
    """Tell whether more may be left than the server reads itself, and no more than `most`."""
    if "HTTP_TRANSFER_ENCODING" in environ:
        return True
    announced = environ.get("CONTENT_LENGTH", "")
    return announced.isdecimal() and LITTLE < int(announced) <= most


def read_after(body: Iterable[bytes], environ: dict[str, Any], most: int) -> Iterable[bytes]:
    """Read the rest of a request once its answer is sent.

    Parameters
    ----------
    body : iterable of bytes
        The answer.
    environ : dict
        The request.
    most : int
        What is read at most [byte].

    Returns
    -------
    iterable of bytes
        The answer, whose end is the time to read on.
    """
    return ClosingIterator(body, lambda: _read(environ, most))


def _read(environ: dict[str, Any], most: int) -> None:
    stream, wire = environ["wsgi.input"], environ.get("gunicorn.socket")
    end = time.monotonic() + PATIENCE
    before = None if wire is None else wire.gettimeout()
    # Whatever is wrong with the rest, the answer is given; the server closes the connection.
    with suppress(Exception):
        while most > 0 and (left := end - time.monotonic()) > 0:
            if wire is not None:
                wire.settimeout(left)
            block = stream.read(min(most, _BLOCK))
            if not block:
                break
            most -= len(block)
    if wire is not None:
        with suppress(OSError):
            wire.settimeout(before)
