"""Reads the rest of a request body after it was refused.

The server drops a connection on which more than a little is unread. A caller that is still sending
may then miss the refusal, and a caller that keeps its connection may lose the next request.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from contextlib import suppress
from typing import Any, Final

from werkzeug.wsgi import ClosingIterator

from drawmark.web.server.waiting import MOMENT, waiting

SERVER_READS: Final = 32 * 1024
"""What the server itself reads before it drops a connection [byte]."""
PATIENCE: Final = 5.0
"""Time a caller has to send the rest [s]."""
_BLOCK: Final = 256 * 1024


def needs_draining(environ: dict[str, Any], most: int) -> bool:
    """Tell whether the server may leave some of the body unread, and at most `most` bytes."""
    if "HTTP_TRANSFER_ENCODING" in environ:
        return True
    announced = environ.get("CONTENT_LENGTH", "")
    return announced.isdecimal() and SERVER_READS < int(announced) <= most


def drain_after(
    answer: Iterable[bytes], environ: dict[str, Any], most: int, patience: float = PATIENCE
) -> Iterable[bytes]:
    """Read at most `most` bytes of the request once its answer is sent."""
    return ClosingIterator(answer, lambda: _drain(environ, most, patience))


def _drain(environ: dict[str, Any], most: int, patience: float) -> None:
    stream, socket = environ["wsgi.input"], environ.get("gunicorn.socket")
    before = None if socket is None else socket.gettimeout()
    # The answer is sent, so a fault here no longer matters; the server closes the connection.
    with suppress(Exception), waiting.place() as free:
        end = time.monotonic() + (patience if free else MOMENT)
        while most > 0 and (left := end - time.monotonic()) > 0:
            if socket is not None:
                socket.settimeout(left)
            block = stream.read(min(most, _BLOCK))
            if not block:
                break
            most -= len(block)
    if socket is not None:
        with suppress(OSError):
            socket.settimeout(before)
