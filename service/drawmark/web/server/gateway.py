"""Decides which requests reach the application: preflight, rate, token, concurrency."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from time import monotonic
from typing import Any, Final

from drawmark.deadline import CallerGone, DeadlinePassed, NoRoom, deadline
from drawmark.web.metrics import metrics_of_process
from drawmark.web.server.concurrency import (
    ConcurrencyLimit,
    HeavyLimit,
    Limit,
    Places,
    heavy_threads,
)
from drawmark.web.server.cors import Cors, Headers
from drawmark.web.server.rate_limit import RateLimit, client_address
from drawmark.web.settings import DOCUMENT_PATHS, MAINTAINER_PATHS, OPEN_PATHS, Settings
from drawmark.web.wire.callers import CALLER, Caller, Callers
from drawmark.web.wire.problems import NOT_FOUND, problem, send_problem

HEAVY: Final = frozenset(
    f"/v1/{path}"
    for path in (
        "cut-plan",
        "delivery",
        "fit-check/batch",
        "kit/assignments",
        "kit/consistency",
        "kit/labels",
        "kit/lengths",
        "kit/sets",
        "order",
        "replacement",
        "spine",
    )
)
"""Paths whose requests may be long; together they leave threads to all others."""
SLOWEST_READING: Final = 60.0
"""How long a caller may take to read a stream [s]."""
_RETRY_SECONDS: Final = 1
_FULL: Final = f"Too many calculations run at once. Ask again in {_RETRY_SECONDS} s."
_OWN_FULL: Final = (
    "This token or its club has as many calculations under way as it may have at once. "
    f"Ask again in {_RETRY_SECONDS} s."
)
_TOO_LONG: Final = "This took longer than {:g} s. Nothing was checked. {}"
_HEAVY_ADVICE: Final = "Send less at once."
_SINGLE_ADVICE: Final = (
    "Ask again; if it happens often, a local rule is slow or the service is busy."
)
_FAULTY: Final = (
    "The configuration for this token has faults, so nothing was checked. Ask whoever runs the "
    "service to look at its log."
)
_NO_CLUB: Final = (
    "This token belongs to no club. It is for /metrics and /v1/plugins only; use a club's token."
)
_GONE: Final = "The caller closed its connection before the answer."

Application = Callable[..., Iterable[bytes]]


class Gateway:
    """Middleware that passes a request on or refuses it; without tokens it asks for none."""

    def __init__(
        self,
        inner: Application,
        settings: Settings,
        callers: Callers,
        pages: frozenset[str] = frozenset(),
    ) -> None:
        self._inner = inner
        self._callers = callers
        self._cors = Cors(settings.cors_origins)
        self._proxies = settings.trusted_proxies
        self._rate = RateLimit(settings.rate_limit)
        self._open_paths = OPEN_PATHS | (DOCUMENT_PATHS if settings.open_docs else frozenset())
        self._pages = pages
        self._own = {
            one.token.name: ConcurrencyLimit(one.token.at_once)
            for one in callers
            if one.token.at_once
        }
        share = max(1, heavy_threads(settings.threads) // 2)
        clubs = {one.token.club for one in callers if one.token.club}
        self._shares = {club: ConcurrencyLimit(share) for club in clubs}
        self._heavy_seconds = settings.deadline
        self._seconds = min(settings.single_deadline, settings.deadline)
        places = settings.most_at_once
        self._limits: tuple[Limit, ...] = (ConcurrencyLimit(places),) if places else ()
        self._is_limited = bool(self._own or self._limits)
        self._heavy = (
            *self._limits,
            HeavyLimit(settings.threads, count=metrics_of_process().change_heavy),
        )

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        """Refuse a request, or pass it on."""
        path = environ["PATH_INFO"]
        if "," in environ.get("HTTP_HOST", ",") or path[:2] == "//":
            fault = _fault_in_head(environ)
            if fault is not None:
                return send_problem(environ, start_response, problem(*fault))
        preflight = self._cors.preflight(environ)
        if preflight is not None:
            start_response("204 No Content", preflight)
            return []
        if path in self._open_paths or (environ["REQUEST_METHOD"] == "GET" and path in self._pages):
            environ[CALLER] = self._callers.anyone
            return self._inner(environ, start_response)
        given = environ.get("HTTP_AUTHORIZATION", "")
        caller = environ[CALLER] = self._callers.find(given)
        if wait := self._wait_of(caller, environ):
            detail = f"This caller asks too often. Ask again in {wait} s."
            return _refuse(environ, start_response, 429, detail, ("Retry-After", wait))
        if caller is None:
            challenge = 'Bearer error="invalid_token"' if given else "Bearer"
            detail = (
                "This token is not known. Ask whoever runs the service for a valid one."
                if given
                else "A token is needed. Send it as Authorization: Bearer TOKEN."
            )
            header = ("WWW-Authenticate", challenge)
            return _refuse(environ, start_response, 401, detail, header)
        if caller.rules is None:
            # Soon: the client of this package waits as long as is said, several times.
            return _refuse_for_now(environ, start_response, _FAULTY)
        if caller.token.maintainer and path not in MAINTAINER_PATHS:
            return send_problem(environ, start_response, problem(403, _NO_CLUB))
        if environ["REQUEST_METHOD"] == "POST":
            return self._calculate(environ, start_response, caller)
        return self._inner(environ, start_response)

    def _wait_of(self, caller: Caller | None, environ: dict[str, Any]) -> int:
        """Give the seconds that a caller has to wait, who is known by token or else by address."""
        token = None if caller is None else caller.token
        if token is not None and token.name:
            return self._rate.take(token.name, token.rate)
        return self._rate.take(client_address(environ, self._proxies)) if self._rate.is_on else 0

    def _calculate(
        self, environ: dict[str, Any], start_response: Any, caller: Caller
    ) -> Iterable[bytes]:
        connection = environ.get("gunicorn.socket")
        is_heavy = environ["PATH_INFO"] in HEAVY
        seconds = self._heavy_seconds if is_heavy else self._seconds
        places = Places() if is_heavy or self._is_limited else None
        try:
            if places is None:
                deadline.begin(seconds, connection)
                return self._inner(environ, start_response)
            share = self._shares.get(caller.token.club) if is_heavy else None
            limits: Iterable[Limit] = filter(None, (self._own.get(caller.token.name), share))
            if not all(map(places.take, limits)):
                wait = ("Retry-After", _RETRY_SECONDS)
                return _refuse(environ, start_response, 429, _OWN_FULL, wait)
            rest = self._heavy if is_heavy else self._limits
            if not (all(map(places.take, rest)) and places.resume()):
                return _refuse_for_now(environ, start_response, _FULL)
            deadline.begin(seconds, connection, places)
            start = _Start(start_response)
            body = self._inner(environ, start)
            if start.is_stream:
                body, places = _HeldStream(body, places, deadline.end(), connection), None
            return body
        except NoRoom:
            return _refuse_for_now(environ, start_response, _FULL)
        except DeadlinePassed:
            detail = _TOO_LONG.format(seconds, _HEAVY_ADVICE if is_heavy else _SINGLE_ADVICE)
            return _refuse_for_now(environ, start_response, detail)
        except CallerGone:
            return send_problem(environ, start_response, problem(400, _GONE))
        finally:
            deadline.end()
            if places is not None:
                places.release()


class _Start:
    """Starts a response, and tells whether it is a stream: only of others the length is known."""

    def __init__(self, start_response: Any) -> None:
        self._start = start_response
        self.is_stream = False

    def __call__(self, status: str, headers: Headers, fault: Any = None) -> Any:
        self.is_stream = "Content-Length" not in dict(headers)
        return self._start(status, headers, fault)


class _HeldStream:
    """A stream that holds places until it is sent, and works on within its deadline.

    The time that its caller takes to read has a limit of its own, and others may calculate in it.
    """

    def __init__(self, body: Iterable[bytes], places: Places, seconds: float, caller: Any) -> None:
        self._body, self._places = body, places
        self._seconds, self._caller = seconds, caller

    def __iter__(self) -> Iterator[bytes]:
        pieces, reading = iter(self._body), 0.0
        try:
            while (piece := self._next(pieces)) is not None:
                if reading > SLOWEST_READING:
                    raise CallerGone
                begun = monotonic()
                self._places.rest()
                yield piece
                reading += monotonic() - begun
        finally:
            self.close()

    def _next(self, pieces: Iterator[bytes]) -> bytes | None:
        if not self._places.resume(SLOWEST_READING):
            raise DeadlinePassed
        deadline.begin(self._seconds, self._caller)
        try:
            return next(pieces, None)
        finally:
            self._seconds = deadline.end()

    def close(self) -> None:
        """Give the places back, whether or not all was sent."""
        try:
            close = getattr(self._body, "close", None)
            if close is not None:
                close()
        finally:
            self._places.release()


def _refuse_for_now(environ: dict[str, Any], start_response: Any, detail: str) -> Iterable[bytes]:
    return _refuse(environ, start_response, 503, detail, ("Retry-After", _RETRY_SECONDS))


def _fault_in_head(environ: dict[str, Any]) -> tuple[int, str] | None:
    host = environ.get("HTTP_HOST")
    if host is None and environ.get("SERVER_PROTOCOL") == "HTTP/1.1":
        return 400, "The header Host is missing."
    if host is not None and "," in host:
        return 400, "The header Host may be sent only once."
    # The framework would take several slashes for one, where limits and logs do not.
    return (404, NOT_FOUND) if environ["PATH_INFO"].startswith("//") else None


def _refuse(
    environ: dict[str, Any],
    start_response: Any,
    status: int,
    detail: str,
    header: tuple[str, object],
) -> Iterable[bytes]:
    headers = [(header[0], str(header[1]))]
    return send_problem(environ, start_response, problem(status, detail), headers)
