"""What is seen of every request: its id, its headers, one line in the log, its share of metrics.

Outermost of all, so that what nothing else catches ends here and no worker dies of a request.
"""

from __future__ import annotations

import logging
import os
import re
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import UTC, datetime
from typing import Any, Final

from drawmark.web.metrics import METHODS, UNMATCHED, Metrics
from drawmark.web.server.cors import Headers, Origins
from drawmark.web.server.drain_body import is_large, read_after
from drawmark.web.server.gateway import CALLER, Application
from drawmark.web.server.request_log import request_log
from drawmark.web.settings import Settings
from drawmark.web.wire.problems import problem, send_problem

log = logging.getLogger("drawmark")
_ID: Final = re.compile(r"[A-Za-z0-9._-]{1,64}")
_TRACE: Final = re.compile(r"[0-9a-f]{2}-[0-9a-f]{32}-[0-9a-f]{16}-[0-9a-f]{2}")


class _Exchange:
    """One request, and what was begun to be answered."""

    __slots__ = ("_send", "environ", "fields", "identity", "is_whole", "started", "status")

    def __init__(self, environ: dict[str, Any], send: Any) -> None:
        self.environ, self._send = environ, send
        self.started = time.perf_counter()
        self.identity = identify(environ)
        self.fields: Headers = []
        self.status = 0
        self.is_whole = False

    def start_response(self, status: str, headers: Headers, fault: Any = None) -> Any:
        """Begin to answer: as the application says, with the headers of every answer."""
        self.status = int(status[:3])
        self.is_whole = "Content-Length" in dict(headers)
        return self._send(status, [*headers, *self.fields], fault)


class Observed:
    """Watches over all that an application answers.

    Parameters
    ----------
    inner : callable
        The application.
    settings : Settings
        Origins whose pages may read the answers, and how large a body may be.
    metrics : Metrics
        What is counted.
    routes : iterable of str
        Paths that there are; all others count as one.
    """

    def __init__(
        self,
        inner: Application,
        settings: Settings,
        metrics: Metrics,
        routes: Iterable[str],
    ) -> None:
        self._inner, self._metrics = inner, metrics
        self._origins = Origins(settings.cors_origins)
        self._body_limit = settings.body_limit
        self._routes = frozenset(routes)

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        """Have a request answered; a fault is a problem document."""
        exchange = _Exchange(environ, start_response)
        exchange.fields = [
            ("X-Request-ID", exchange.identity),
            ("X-Content-Type-Options", "nosniff"),
            ("Cache-Control", "no-store"),
            *self._origins.headers_of(environ),
        ]
        try:
            body = self._inner(environ, exchange.start_response)
        except BaseException:
            body = self._fail(exchange)
        if not exchange.is_whole:
            return _Stream(body, exchange, self._note)
        self._note(exchange)
        if exchange.status >= 400 and is_large(environ, self._body_limit):
            return read_after(body, environ, self._body_limit)
        return body

    def _fail(self, exchange: _Exchange) -> Iterable[bytes]:
        log.exception("request %s failed", exchange.identity)
        document = problem(500, "The service failed; the fault is logged.")
        return send_problem(
            exchange.environ, exchange.start_response, document, fault=sys.exc_info()
        )

    def _note(self, exchange: _Exchange, torn: bool = False) -> None:
        taken = time.perf_counter() - exchange.started
        environ = exchange.environ
        path, method = environ["PATH_INFO"], environ["REQUEST_METHOD"]
        route = path if path in self._routes else UNMATCHED
        method = method if method in METHODS else "other"
        self._metrics.count_request(route, method, exchange.status, taken)
        if not request_log.is_on:
            return
        line: dict[str, object] = {
            "time": datetime.now(UTC),
            "id": exchange.identity,
            "method": method,
            "route": route,
            "status": exchange.status,
            "ms": round(1000 * taken, 2),
        }
        caller = environ.get(CALLER)
        if caller is not None:
            line["caller"] = caller
        if torn:
            line["torn"] = True
        request_log.write(line)


class _Stream:
    """An answer that is made while it is sent; it is noted when it ends."""

    def __init__(
        self, body: Iterable[bytes], exchange: _Exchange, note: Callable[..., None]
    ) -> None:
        self._body, self._exchange, self._note = body, exchange, note
        self._torn = True

    def __iter__(self) -> Iterator[bytes]:
        try:
            yield from self._body
        except GeneratorExit:
            raise
        except BaseException as error:
            log.exception("request %s failed while it was answered", self._exchange.identity)
            raise RuntimeError("the answer is torn") from error
        self._torn = False

    def close(self) -> None:
        """Note the end."""
        try:
            close = getattr(self._body, "close", None)
            if close is not None:
                close()
        finally:
            self._note(self._exchange, self._torn)


def identify(environ: Mapping[str, Any]) -> str:
    """Give the request's id: of its trace, as stated and bounded, or a new one."""
    trace = environ.get("HTTP_TRACEPARENT", "")
    if trace and _TRACE.fullmatch(trace):
        return str(trace.split("-")[1])
    stated = environ.get("HTTP_X_REQUEST_ID", "")
    return stated if _ID.fullmatch(stated) else os.urandom(16).hex()
