"""Ends connections of callers that stop while they send a request or read its answer.

The kernel waits a moment for each. After that a quarter of a worker's threads may wait on. A caller
for whom no place is left is cut off, so the other threads are free again soon.
"""

from __future__ import annotations

import errno
import select
import socket
import struct
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from threading import Semaphore
from typing import Any, Final

from gunicorn import util
from gunicorn.http import parser
from gunicorn.http.unreader import SocketUnreader
from gunicorn.workers import gthread

MOMENT: Final = 0.25
"""How long every thread may wait for its caller [s]."""
PATIENCE: Final = 30.0
"""How long a quarter of the threads may wait for theirs [s]."""


class Waiting:
    """Places for the threads that wait long."""

    def __init__(self) -> None:
        self.share(1)

    def share(self, threads: int, seconds: float = PATIENCE) -> None:
        """Make places for a quarter of so many threads, since heavy requests may take half."""
        self._places = Semaphore(min(threads - 1, max(1, threads // 4)))
        self._seconds = seconds

    @contextmanager
    def place(self) -> Iterator[bool]:
        """Take a place, if one is free; tell whether it was."""
        free = self._places.acquire(blocking=False)
        try:
            yield free
        finally:
            if free:
                self._places.release()

    def wait(self, connection: socket.socket, event: int) -> None:
        """Wait until a caller sends or reads; BlockingIOError if there is no place or no end."""
        poll = select.poll()
        poll.register(connection, event)
        with self.place() as free:
            if free and poll.poll(1000 * self._seconds):
                return
        raise BlockingIOError(errno.EAGAIN, "the caller stands still")


waiting: Final = Waiting()


class Reader(SocketUnreader):  # type: ignore[misc]
    """Reads a request; whoever stops for too long is not read from again."""

    sock: socket.socket

    def chunk(self, size_hint: int | None = None) -> Any:
        """Read what has arrived."""
        try:
            return super().chunk(size_hint)
        except BlockingIOError:
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
        connection.recv(64 * 1024)
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
