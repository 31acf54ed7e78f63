"""Logs of this package and of gunicorn: never a body, a query or a token."""

from __future__ import annotations

import logging
import os
from contextlib import suppress
from typing import Final

import msgspec

from drawmark.web.server.json_log import JsonFormatter

_REFUSED: Final = "Invalid request from "
_STOOD_STILL: Final = "Socket error processing request."
_FAILED: Final = "Error handling request %s %s"
_STANDARD_ERROR: Final = 2


class RequestLog:
    """Writes a line of JSON for each request with one system call.

    A record of the logging module would cost more than everything else around an answer. If the
    log cannot be written, its lines are lost and answers go on.
    """

    def __init__(self) -> None:
        self.is_on = False
        self._encode = msgspec.json.Encoder().encode

    def write(self, line: dict[str, object]) -> None:
        """Write a line."""
        with suppress(OSError):
            os.write(_STANDARD_ERROR, self._encode(line) + b"\n")


request_log: Final = RequestLog()


def configure_logging(requests: bool) -> None:
    """Log to standard error: a line for each request, or faults only."""
    root, warned = logging.getLogger("drawmark"), logging.getLogger("py.warnings")
    if not root.handlers:
        handler = logging.StreamHandler()
        handler.setFormatter(JsonFormatter())
        root.addHandler(handler)
        warned.addHandler(handler)
        # Python itself writes a warning in two lines, for example numpy's of a plugin's figures.
        logging.captureWarnings(True)
    root.setLevel(logging.INFO if requests else logging.WARNING)
    root.propagate = False
    request_log.is_on = requests
    server = logging.getLogger("gunicorn.error")
    if redact not in server.filters:
        server.addFilter(redact)


def redact(record: logging.LogRecord) -> bool:
    """Remove what a caller sent from gunicorn's own lines; no line is dropped."""
    if isinstance(record.msg, str) and record.msg.startswith(_REFUSED):
        record.msg, record.args = record.msg.partition(": ")[0], ()
    elif record.msg == _FAILED and isinstance(record.args, tuple) and len(record.args) == 2:
        method, target = record.args
        record.args = (method, str(target).partition("?")[0])
    elif record.msg == _STOOD_STILL and record.exc_info and record.exc_info[0] is BlockingIOError:
        record.msg, record.exc_info = "a connection that stood still was closed", None
    return True
