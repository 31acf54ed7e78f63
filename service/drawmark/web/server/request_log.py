"""What this package and its server write to the log: no body, no query, no token."""

from __future__ import annotations

import logging
import os
from contextlib import suppress
from typing import Final

import msgspec

_REFUSED: Final = "Invalid request from "
_FAILED: Final = "Error handling request %s %s"
_STANDARD_ERROR: Final = 2


class RequestLog:
    """Writes a line of JSON for each request, by one call of the system, without a logger.

    A logger's record costs more than all else that is done beside answering. A log that cannot be
    written, on a full disk say, costs its lines and no answer.
    """

    def __init__(self) -> None:
        self.is_on = False
        self._encode = msgspec.json.Encoder().encode

    def write(self, line: dict[str, object]) -> None:
        """Write a line."""
        with suppress(OSError):
            os.write(_STANDARD_ERROR, self._encode(line) + b"\n")


request_log: Final = RequestLog()


def write_log(requests: bool) -> None:
    """Send what this package logs to standard error; only faults where no line a request is."""
    root = logging.getLogger("drawmark")
    if not root.handlers:
        handler = logging.StreamHandler()
        handler.setFormatter(logging.Formatter("%(message)s"))
        root.addHandler(handler)
    root.setLevel(logging.INFO if requests else logging.WARNING)
    root.propagate = False
    request_log.is_on = requests
    server = logging.getLogger("gunicorn.error")
    if cut_short not in server.filters:
        server.addFilter(cut_short)


def cut_short(record: logging.LogRecord) -> bool:
    """Cut what a caller wrote out of the server's own lines; they repeat requests that it refuses.

    Parameters
    ----------
    record : LogRecord
        A line.

    Returns
    -------
    bool
        True: no line is dropped.
    """
    if isinstance(record.msg, str) and record.msg.startswith(_REFUSED):
        record.msg, record.args = record.msg.partition(": ")[0], ()
    elif record.msg == _FAILED and isinstance(record.args, tuple) and len(record.args) == 2:
        method, target = record.args
        record.args = (method, str(target).partition("?")[0])
    return True
