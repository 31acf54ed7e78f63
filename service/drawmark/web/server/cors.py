"""Cross-origin requests (CORS): pages of other origins may ask only if their origin is named."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

Headers = list[tuple[str, str]]

_PREFLIGHT: Final[Headers] = [
    ("Access-Control-Allow-Methods", "GET, POST"),
    ("Access-Control-Allow-Headers", "Authorization, Content-Type, X-Request-ID, traceparent"),
    ("Access-Control-Max-Age", "600"),
]
_EXPOSED: Final = (
    "Access-Control-Expose-Headers",
    "X-Request-ID, Retry-After, Deprecation, Sunset, Link",
)


class Cors:
    """Headers for the origins that may ask."""

    def __init__(self, origins: tuple[str, ...]) -> None:
        self._origins = frozenset(origins)

    def headers_of(self, environ: Mapping[str, Any]) -> Headers:
        """Give the headers that a browser checks before a page may read the answer."""
        if not self._origins:
            return [("Vary", "Accept")]
        # Refused origins vary too, so that no cache mixes their answers with others.
        headers = [("Vary", "Accept, Origin")]
        origin = environ.get("HTTP_ORIGIN")
        if origin in self._origins:
            headers += [("Access-Control-Allow-Origin", origin), _EXPOSED]
        return headers

    def preflight(self, environ: Mapping[str, Any]) -> Headers | None:
        """Give the headers that answer a preflight request, which carries no token; else None."""
        if (
            environ["REQUEST_METHOD"] == "OPTIONS"
            and environ.get("HTTP_ORIGIN") in self._origins
            and "HTTP_ACCESS_CONTROL_REQUEST_METHOD" in environ
        ):
            return list(_PREFLIGHT)
        return None
