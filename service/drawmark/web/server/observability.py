"""Gives every request an id, headers, a line in the log and its share of the metrics.

Outermost middleware: turns any uncaught exception into a 500 problem.
"""

from __future__ import annotations

import errno
import logging
import re
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import UTC, datetime
from random import getrandbits
from typing import Any, Final

from drawmark.deadline import WorkAbandoned
from drawmark.web.metrics import METHODS, UNMATCHED, Metrics
from drawmark.web.server.cors import Cors, Headers
from drawmark.web.server.drain_body import drain_after, needs_draining
from drawmark.web.server.gateway import Application
from drawmark.web.server.rate_limit import client_address
from drawmark.web.server.request_log import request_log
from drawmark.web.settings import Settings
from drawmark.web.wire.callers import CALLER
from drawmark.web.wire.problems import SERVICE_FAILED, problem, send_problem

log = logging.getLogger("drawmark")
_ID: Final = re.compile(r"[A-Za-z0-9._-]{1,64}")
_TRACE: Final = re.compile(r"[0-9a-f]{2}-[0-9a-f]{32}-[0-9a-f]{16}-[0-9a-f]{2}")


class _Exchange:
    """One request and the start of its response."""

    __slots__ = ("_start", "environ", "has_length", "headers", "request_id", "started", "status")

    def __init__(self, environ: dict[str, Any], start_response: Any) -> None:
        self.environ, self._start = environ, start_response
        self.started = time.perf_counter()
        self.request_id = request_id_of(environ)
        self.headers: Headers = []
        self.status = 0
        self.has_length = False

    def start_response(self, status: str, headers: Headers, fault: Any = None) -> Any:
        """Start the application's response, with the headers that every response has."""
        self.status = int(status[:3])
        self.has_length = "Content-Length" in dict(headers)
        return self._start(status, [*headers, *self.headers], fault)


class RequestObserver:
    """Middleware that observes every request; paths that are not in `routes` count as one."""

    def __init__(
        self,
        inner: Application,
        settings: Settings,
        metrics: Metrics,
        routes: Iterable[str],
    ) -> None:
        self._inner, self._metrics = inner, metrics
        self._cors = Cors(settings.cors_origins)
        self._body_limit = settings.body_limit
        self._log_addresses, self._proxies = settings.log_addresses, settings.trusted_proxies
        self._routes = frozenset(routes)

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        """Pass a request on; a fault is answered with a problem."""
        exchange = _Exchange(environ, start_response)
        self._metrics.begin_request()
        exchange.headers = [
            ("X-Request-ID", exchange.request_id),
            ("X-Content-Type-Options", "nosniff"),
            ("Cache-Control", "no-store"),
            *self._cors.headers_of(environ),
        ]
        try:
            body = self._inner(environ, exchange.start_response)
        except BaseException:
            body = self._fail(exchange)
        if not exchange.has_length:
            return _Stream(body, exchange, self._record)
        self._record(exchange)
        if exchange.status >= 400 and needs_draining(environ, self._body_limit):
            return drain_after(body, environ, self._body_limit)
        return body

    def _fail(self, exchange: _Exchange) -> Iterable[bytes]:
        log.exception("request %s failed", exchange.request_id)
        return send_problem(
            exchange.environ,
            exchange.start_response,
            problem(500, SERVICE_FAILED),
            fault=sys.exc_info(),
        )

    def _record(self, exchange: _Exchange, torn: bool = False) -> None:
        seconds = time.perf_counter() - exchange.started
        environ = exchange.environ
        path, method = environ["PATH_INFO"], environ["REQUEST_METHOD"]
        route = path if path in self._routes else UNMATCHED
        method = method if method in METHODS else "other"
        announced = environ.get("CONTENT_LENGTH", "")
        size = int(announced) if announced.isdecimal() else 0
        self._metrics.end_request(route, method, exchange.status, seconds, size, torn)
        if not request_log.is_on:
            return
        line: dict[str, object] = {
            "time": datetime.now(UTC),
            "level": "info",
            "message": "answered",
            "id": exchange.request_id,
            "method": method,
            "route": route,
            "status": exchange.status,
            "ms": round(1000 * seconds, 2),
        }
        caller = environ.get(CALLER)
        if caller is not None and caller.token.name:
            line["caller"] = caller.token.name
        if self._log_addresses:
            line["address"] = client_address(environ, self._proxies)
        if torn:
            line["torn"] = True
        request_log.write(line)


class _Stream:
    """A response that is made while it is sent; it is recorded when it ends."""

    def __init__(
        self, body: Iterable[bytes], exchange: _Exchange, record: Callable[..., None]
    ) -> None:
        self._body, self._exchange, self._record = body, exchange, record
        self._torn = True

    def __iter__(self) -> Iterator[bytes]:
        try:
            yield from self._body
        except GeneratorExit:
            raise
        except WorkAbandoned as why:
            log.warning("request %s was cut off: %r", self._exchange.request_id, why)
            # The server takes this for a caller that is gone, and cuts the connection.
            raise BrokenPipeError(errno.EPIPE, "the response was cut off") from why
        except BaseException as error:
            log.exception("request %s failed while it was answered", self._exchange.request_id)
            raise RuntimeError("the response was cut off") from error
        self._torn = False

    def close(self) -> None:
        """Record the end."""
        try:
            close = getattr(self._body, "close", None)
            if close is not None:
                close()
        finally:
            self._record(self._exchange, self._torn)


def request_id_of(environ: Mapping[str, Any]) -> str:
    """Give the trace's id, else the stated request id if it is well formed, else a new one."""
    trace = environ.get("HTTP_TRACEPARENT", "")
    if trace and _TRACE.fullmatch(trace):
        return str(trace.split("-")[1])
    stated = environ.get("HTTP_X_REQUEST_ID", "")
    return stated if _ID.fullmatch(stated) else f"{getrandbits(128):032x}"
