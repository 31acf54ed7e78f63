"""How long threads wait for callers that stop while they send a request or read its answer.

The kernel waits a moment for each. After that a quarter of a worker's threads may wait on. A caller
for whom no place is left is cut off, so the other threads are free again soon.
"""

from __future__ import annotations

import errno
import select
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Semaphore
from typing import Final

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
