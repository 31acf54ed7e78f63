"""Sends the head of a reply and its first bytes together.

A server that dies between two writes leaves its caller with half a reply, and a proxy that has
passed on a head can no longer ask another server. With one write it has sent all or nothing.
"""

from __future__ import annotations

from typing import Any

from gunicorn.http import wsgi


class _Held:
    """Stands for a socket while the parts of one write are collected."""

    def __init__(self) -> None:
        self.parts: list[bytes] = []

    def sendall(self, part: bytes) -> None:
        """Keep what would have been sent."""
        self.parts.append(part)


class WholeReply(wsgi.Response):  # type: ignore[misc]
    """A reply whose head waits for the first bytes of its body."""

    sock: Any

    def write(self, arg: bytes) -> None:
        """Send bytes of the body, the first of them together with the head."""
        if self.headers_sent:
            super().write(arg)
            return
        held, wire = _Held(), self.sock
        self.sock = held
        try:
            super().write(arg)
        finally:
            self.sock = wire
        wire.sendall(b"".join(held.parts))


def send_whole_replies(http: Any = wsgi) -> None:
    """Have gunicorn answer with such replies: it offers no setting for that."""
    http.Response = WholeReply
