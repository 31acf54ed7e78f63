"""Sends the head of a response and its first bytes in one write.

If a server dies between two writes, its caller is left with half a response, and a proxy that has
passed on the head can no longer ask another server. One write sends all or nothing.
"""

from __future__ import annotations

from typing import Any

from gunicorn.http import wsgi

from drawmark.web.server.stalled_callers import send


class _WriteBuffer:
    """Stands in for the socket while the parts of one write are collected."""

    def __init__(self) -> None:
        self.parts: list[bytes] = []

    def sendall(self, part: bytes) -> None:
        """Keep what would have been sent."""
        self.parts.append(part)


class AtomicResponse(wsgi.Response):  # type: ignore[misc]
    """A response whose head waits for the first bytes of its body."""

    sock: Any

    def write(self, arg: bytes) -> None:
        """Send bytes of the body, the first of them together with the head."""
        buffer, socket = _WriteBuffer(), self.sock
        self.sock = buffer
        try:
            super().write(arg)
        finally:
            self.sock = socket
        send(socket, b"".join(buffer.parts))


def use_atomic_responses(http: Any = wsgi) -> None:
    """Make gunicorn answer with AtomicResponse; it has no setting for that."""
    http.Response = AtomicResponse
