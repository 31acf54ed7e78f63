"""Pages of other origins (CORS): none may ask, unless it is named."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

Headers = list[tuple[str, str]]

_PREFLIGHT: Final[Headers] = [
    ("Access-Control-Allow-Methods", "GET, POST"),
    ("Access-Control-Allow-Headers", "Authorization, Content-Type, X-Request-ID, traceparent"),
    ("Access-Control-Max-Age", "600"),
]
_SEEN: Final = ("Access-Control-Expose-Headers", "X-Request-ID, Retry-After")


class Origins:
    """The origins whose pages may ask.

    Parameters
    ----------
    named : tuple of str
        Origins, as browsers write them.
    """

    def __init__(self, named: tuple[str, ...]) -> None:
        self._named = frozenset(named)

    def headers_of(self, environ: Mapping[str, Any]) -> Headers:
        """Give what a browser must read before it shows a page the answer."""
        if not self._named:
            return [("Vary", "Accept")]
        # What is answered hangs on the origin even where it is not named: no cache may mix them.
        headers = [("Vary", "Accept, Origin")]
        origin = environ.get("HTTP_ORIGIN")
        if origin in self._named:
            headers += [("Access-Control-Allow-Origin", origin), _SEEN]
        return headers

    def preflight(self, environ: Mapping[str, Any]) -> Headers | None:
        """Give the headers that answer a browser's question before a request; else None.

        Such a question carries no token, whoever asks it.
        """
        if (
            environ["REQUEST_METHOD"] == "OPTIONS"
            and environ.get("HTTP_ORIGIN") in self._named
            and "HTTP_ACCESS_CONTROL_REQUEST_METHOD" in environ
        ):
            return list(_PREFLIGHT)
        return None
