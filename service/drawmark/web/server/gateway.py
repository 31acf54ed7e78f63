"""Who is let in, before the framework sees a request: preflight, token, rate, room."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, Final

from werkzeug.wsgi import ClosingIterator

from drawmark.web.server.concurrency import RateLimit, Room, address_of
from drawmark.web.server.cors import Origins
from drawmark.web.server.tokens import Tokens
from drawmark.web.settings import Settings
from drawmark.web.wire.problems import problem, send_problem

CALLER: Final = "drawmark.caller"
"""Where the request's environment holds the name of its token."""
OPEN_PATHS: Final = frozenset(("/healthz", "/readyz"))
_SOON: Final = 1

Application = Callable[..., Iterable[bytes]]


class Door:
    """Lets requests in, or says why not.

    Parameters
    ----------
    inner : callable
        The application behind it.
    settings : Settings
        Limits, proxies and origins.
    tokens : Tokens or None
        Who may ask; None where nobody is asked.
    """

    def __init__(self, inner: Application, settings: Settings, tokens: Tokens | None) -> None:
        self._inner = inner
        self._tokens = tokens
        self._origins = Origins(settings.cors_origins)
        self._proxies = settings.trusted_proxies
        self._rate = RateLimit(settings.rate_limit) if settings.rate_limit else None
        most = settings.most_at_once
        self._room = Room(most) if most else None

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        """Answer a request, or have it answered."""
        preflight = self._origins.preflight(environ)
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
            wait = self._rate.wait_of(name or address_of(environ, self._proxies))
            if wait:
                detail = "Too many requests of one caller."
                return _refuse(environ, start_response, 429, detail, ("Retry-After", wait))
        if self._tokens is not None and name is None:
            way = 'Bearer error="invalid_token"' if given else "Bearer"
            detail = "This token is not known." if given else "A token is needed."
            return _refuse(environ, start_response, 401, detail, ("WWW-Authenticate", way))
        if self._room is not None and environ["REQUEST_METHOD"] == "POST":
            return self._calculate(environ, start_response, self._room)
        return self._inner(environ, start_response)

    def _calculate(
        self, environ: dict[str, Any], start_response: Any, room: Room
    ) -> Iterable[bytes]:
        if not room.enter():
            detail = "Too many calculations at once."
            return _refuse(environ, start_response, 503, detail, ("Retry-After", _SOON))
        try:
            return ClosingIterator(self._inner(environ, start_response), room.leave)
        except BaseException:
            room.leave()
            raise


def _refuse(
    environ: dict[str, Any],
    start_response: Any,
    status: int,
    detail: str,
    header: tuple[str, object],
) -> Iterable[bytes]:
    headers = [(header[0], str(header[1]))]
    return send_problem(environ, start_response, problem(status, detail), headers)
