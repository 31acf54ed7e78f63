"""Request ids, headers and one log line a request, never with a body."""

from __future__ import annotations

import logging
import re
import time
import uuid
from typing import Final

import msgspec
from flask import Flask, Response, g, request

log = logging.getLogger("drawmark.requests")
_ID: Final = re.compile(r"[A-Za-z0-9._-]{1,64}")
_TRACE: Final = re.compile(r"[0-9a-f]{2}-[0-9a-f]{32}-[0-9a-f]{16}-[0-9a-f]{2}")


def write_log(requests: bool) -> None:
    """Send what this package logs to standard error, one line a request where asked for."""
    handler = logging.StreamHandler()
    handler.setFormatter(logging.Formatter("%(message)s"))
    root = logging.getLogger("drawmark")
    root.addHandler(handler)
    root.propagate = False
    log.setLevel(logging.INFO if requests else logging.WARNING)


def observe(app: Flask) -> None:
    """Give every request an id, every response its headers, and the log a line."""

    @app.before_request
    def start() -> None:
        g.started = time.perf_counter()

    @app.after_request
    def finish(response: Response) -> Response:
        headers = response.headers
        identity = identify()
        headers["X-Request-ID"] = identity
        headers["X-Content-Type-Options"] = "nosniff"
        headers["Cache-Control"] = "no-store"
        headers["Vary"] = "Accept"
        if log.isEnabledFor(logging.INFO):
            rule = request.url_rule
            line = {
                "id": identity,
                "method": request.method,
                "route": rule.rule if rule else "",
                "status": response.status_code,
                "ms": round(1000 * (time.perf_counter() - g.get("started", 0.0)), 2),
            }
            log.info(msgspec.json.encode(line).decode())
        return response


def identify() -> str:
    """Give the request's id: of its trace, as stated and bounded, or a new one."""
    trace = request.headers.get("traceparent", "")
    if _TRACE.fullmatch(trace):
        return trace.split("-")[1]
    stated = request.headers.get("X-Request-ID", "")
    return stated if _ID.fullmatch(stated) else uuid.uuid4().hex
