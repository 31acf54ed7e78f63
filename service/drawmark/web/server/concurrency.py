"""Limits how many calculations run at once, in each worker."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Final

WAIT: Final = 1.0
"""How long a heavy request waits for a place [s]."""


class ConcurrencyLimit:
    """A number of places that never makes anyone wait."""

    def __init__(self, places: int) -> None:
        self._free = threading.Semaphore(places)

    def acquire(self) -> bool:
        """Take a place; False if none is free."""
        return self._free.acquire(blocking=False)

    def release(self) -> None:
        """Give a place back."""
        self._free.release()


class HeavyLimit:
    """Places for heavy requests, which take half of a worker's threads together.

    A quarter of those calculate while the others wait: all threads share one interpreter, so more
    at once get no more done, and others feel each of them.
    """

    def __init__(
        self, threads: int, wait: float = WAIT, count: Callable[[float], None] = lambda change: None
    ) -> None:
        most = max(1, threads // 2)
        places = max(1, most // 4)
        self._wait, self._count = wait, count
        self._places = threading.Semaphore(places)
        self._waiting = threading.Semaphore(most - places)

    def acquire(self) -> bool:
        """Take a place; False if none gets free in time."""
        self._count(1.0)
        taken = self._take()
        if not taken:
            self._count(-1.0)
        return taken

    def _take(self) -> bool:
        if self._places.acquire(blocking=False):
            return True
        if not self._waiting.acquire(blocking=False):
            return False
        try:
            return self._places.acquire(timeout=self._wait)
        finally:
            self._waiting.release()

    def release(self) -> None:
        """Give a place back."""
        self._places.release()
        self._count(-1.0)
