"""Decides which requests reach the application: preflight, rate, token, concurrency."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, Final

from werkzeug.wsgi import ClosingIterator

from drawmark.web.server.concurrency import ConcurrencyLimit
from drawmark.web.server.cors import Cors
from drawmark.web.server.rate_limit import RateLimit, client_address
from drawmark.web.server.tokens import Tokens
from drawmark.web.settings import OPEN_PATHS, Settings
from drawmark.web.wire.problems import NOT_FOUND, problem, send_problem

CALLER: Final = "drawmark.caller"
"""Where the request's environment holds the name of its token."""
_RETRY_SECONDS: Final = 1

Application = Callable[..., Iterable[bytes]]


class Gateway:
    """Middleware that passes a request on or refuses it; without tokens it asks for none."""

    def __init__(self, inner: Application, settings: Settings, tokens: Tokens | None) -> None:
        self._inner = inner
        self._tokens = tokens
        self._cors = Cors(settings.cors_origins)
        self._proxies = settings.trusted_proxies
        self._rate = RateLimit(settings.rate_limit) if settings.rate_limit else None
        places = settings.most_at_once
        self._concurrency = ConcurrencyLimit(places) if places else None

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        """Refuse a request, or pass it on."""
        if fault := _fault_in_head(environ):
            return send_problem(environ, start_response, problem(*fault))
        preflight = self._cors.preflight(environ)
        if preflight is not None:
            start_response("204 No Content", preflight)
            return []
        if environ["PATH_INFO"] in OPEN_PATHS:
            return self._inner(environ, start_response)
        name = None
        given = environ.get("HTTP_AUTHORIZATION", "")
        if self._tokens is not None:
            name = environ[CALLER] = self._tokens.name_of(given)
        if self._rate is not None:
            wait = self._rate.take(name or client_address(environ, self._proxies))
            if wait:
                detail = f"This caller asks too often. Ask again in {wait} s."
                return _refuse(environ, start_response, 429, detail, ("Retry-After", wait))
        if self._tokens is not None and name is None:
            challenge = 'Bearer error="invalid_token"' if given else "Bearer"
            detail = (
                "This token is not known. Ask whoever runs the service for a valid one."
                if given
                else "A token is needed. Send it as Authorization: Bearer TOKEN."
            )
            header = ("WWW-Authenticate", challenge)
            return _refuse(environ, start_response, 401, detail, header)
        if self._concurrency is not None and environ["REQUEST_METHOD"] == "POST":
            return self._calculate(environ, start_response, self._concurrency)
        return self._inner(environ, start_response)

    def _calculate(
        self, environ: dict[str, Any], start_response: Any, limit: ConcurrencyLimit
    ) -> Iterable[bytes]:
        if not limit.acquire():
            detail = f"Too many calculations run at once. Ask again in {_RETRY_SECONDS} s."
            header = ("Retry-After", _RETRY_SECONDS)
            return _refuse(environ, start_response, 503, detail, header)
        try:
            return ClosingIterator(self._inner(environ, start_response), limit.release)
        except BaseException:
            limit.release()
            raise


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
