"""Refuses pages that reach this machine under a name of their own (DNS rebinding).

A browser lets a page ask the host that it came from. Whoever owns that name may let it point at
this machine later, and the page then asks this service as if it were its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, Final

from drawmark.web.server.gateway import Application
from drawmark.web.wire.problems import problem, send_problem

# An address, or a name without dots such as localhost: nobody else can own these.
_OURS: Final = re.compile(
    r"[^.]*|(?:[0-9.]+|\[[0-9a-f:.]+\]|localhost\.)(?::[0-9]*)?", re.IGNORECASE
)
_MISDIRECTED: Final = (
    "Without tokens this service answers to an address, or to a name without dots, such as "
    "localhost. Ask by one of these."
)


class HostCheck:
    """Middleware that passes on what is meant for this machine (RFC 9110, section 7.4)."""

    def __init__(self, inner: Application) -> None:
        self._inner = inner

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        """Refuse a request to another host, or pass it on."""
        if _OURS.fullmatch(environ.get("HTTP_HOST", "")):
            return self._inner(environ, start_response)
        return send_problem(environ, start_response, problem(421, _MISDIRECTED))
