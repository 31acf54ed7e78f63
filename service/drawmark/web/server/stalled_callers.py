"""Ends connections of callers that stop while they send a request or read its answer."""

from __future__ import annotations

import select
import socket
import struct
from contextlib import suppress
from typing import Any, Final

from gunicorn import util
from gunicorn.http import parser
from gunicorn.http.unreader import SocketUnreader
from gunicorn.workers import gthread

from drawmark.deadline import deadline
from drawmark.web.server.waiting import MOMENT, PATIENCE, waiting

_BLOCK: Final = 64 * 1024
_LAST_BLOCKS: Final = 32
"""What has arrived and is read away before a connection is closed, in blocks."""


class Reader(SocketUnreader):  # type: ignore[misc]
    """Reads a request; whoever stops for too long is not read from again."""

    sock: socket.socket

    def chunk(self, size_hint: int | None = None) -> Any:
        """Read what has arrived."""
        deadline.await_body()
        try:
            return super().chunk(size_hint)
        except BlockingIOError:
            deadline.await_body(stands_still=True)
            try:
                waiting.wait(self.sock, select.POLLIN)
            except BlockingIOError:
                with suppress(OSError):
                    self.sock.shutdown(socket.SHUT_RD)
                raise
            return super().chunk(size_hint)


def send(connection: socket.socket, part: bytes) -> None:
    """Send a part of an answer."""
    rest = memoryview(part)
    while rest:
        try:
            rest = rest[connection.send(rest) :]
        except BlockingIOError:
            waiting.wait(connection, select.POLLOUT)


def close(connection: socket.socket, **_: Any) -> None:
    """Close a connection at once; gunicorn's loop would wait for its caller, and accept nobody."""
    with suppress(OSError):
        connection.shutdown(socket.SHUT_WR)
        # What is left unread would take the answer from the caller.
        connection.setblocking(False)
        for _block in range(_LAST_BLOCKS):
            if not connection.recv(_BLOCK):
                break
    connection.close()


def limit_moments(listener: socket.socket) -> None:
    """Let reading and writing end after a moment, on each connection of a listener.

    The kernel hands these limits on to each connection, so none costs a call.
    """
    interval = struct.pack("@ll", 0, round(MOMENT * 1e6))
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_RCVTIMEO, interval)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_SNDTIMEO, interval)


def use_patience(threads: int, seconds: float = PATIENCE) -> None:
    """Make gunicorn wait for callers in this way; it has no settings for that."""
    waiting.share(threads, seconds)
    parser.SocketUnreader = Reader
    util.close_graceful = close
    gthread.DEFAULT_WORKER_DATA_TIMEOUT = MOMENT
