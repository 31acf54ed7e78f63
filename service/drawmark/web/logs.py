"""What this package and its server write to the log: no body, no query, no token."""

from __future__ import annotations

import logging
from typing import Final

_REFUSED: Final = "Invalid request from "
_FAILED: Final = "Error handling request %s %s"


def write_log(requests: bool) -> None:
    """Send what this package logs to standard error, one line a request where asked for."""
    root = logging.getLogger("drawmark")
    if not root.handlers:
        handler = logging.StreamHandler()
        handler.setFormatter(logging.Formatter("%(message)s"))
        root.addHandler(handler)
    root.propagate = False
    logging.getLogger("drawmark.requests").setLevel(logging.INFO if requests else logging.WARNING)
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
