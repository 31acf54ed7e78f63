"""Slots for batches: half of a worker's threads, so that single requests get through."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from typing import Final

WAIT: Final = 1.0
"""How long a batch waits for a slot [s]."""


class Slots:
    """Slots of one worker: half of its threads; of the others, one never waits for a slot."""

    def __init__(self, threads: int, wait: float = WAIT) -> None:
        count = max(1, threads // 2)
        self._wait = wait
        self._slots = threading.Semaphore(count)
        self._waiting = threading.Semaphore(max(0, threads - count - 1))

    def acquire(self) -> bool:
        """Take a slot; False where none gets free in time."""
        if self._slots.acquire(blocking=False):
            return True
        if not self._waiting.acquire(blocking=False):
            return False
        try:
            return self._slots.acquire(timeout=self._wait)
        finally:
            self._waiting.release()

    def release(self) -> None:
        """Give a slot back."""
        self._slots.release()


class ReleasingIterator:
    """Pieces of an answer; releases once, after the last piece or where nobody reads them."""

    def __init__(self, pieces: Iterator[bytes], release: Callable[[], object]) -> None:
        self._pieces, self._release = pieces, release
        self._closed = False

    def __iter__(self) -> Iterator[bytes]:
        """Give the pieces."""
        try:
            yield from self._pieces
        finally:
            self.close()

    def close(self) -> None:
        """Release, whether or not all was sent."""
        if not self._closed:
            self._closed = True
            self._release()
