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

    def rest(self) -> None:
        """Keep the place while nothing is calculated."""

    def resume(self, seconds: float) -> bool:
        """Calculate again."""
        return True

    def release(self, resting: bool = False) -> None:
        """Give a place back."""
        self._free.release()


def heavy_threads(threads: int) -> int:
    """Give how many of a worker's threads heavy requests take together."""
    return max(1, threads // 2)


class HeavyLimit:
    """Places for heavy requests, which take half of a worker's threads together.

    A quarter of those calculate while the others wait, or while their callers read: all threads
    share one interpreter, so more at once get no more done, and others feel each of them.
    """

    def __init__(
        self, threads: int, wait: float = WAIT, count: Callable[[float], None] = lambda change: None
    ) -> None:
        most = heavy_threads(threads)
        self._wait, self._count = wait, count
        self._threads = threading.Semaphore(most)
        self._places = threading.Semaphore(max(1, most // 4))

    def acquire(self) -> bool:
        """Take a place; False if none gets free in time."""
        self._count(1.0)
        taken = self._threads.acquire(blocking=False)
        if taken and not self.resume(self._wait):
            self._threads.release()
            taken = False
        if not taken:
            self._count(-1.0)
        return taken

    def rest(self) -> None:
        """Let another calculate for a while, and keep the thread."""
        self._places.release()

    def resume(self, seconds: float) -> bool:
        """Calculate again; False if no place gets free in time."""
        return self._places.acquire(timeout=seconds)

    def release(self, resting: bool = False) -> None:
        """Give a place back."""
        if not resting:
            self.rest()
        self._threads.release()
        self._count(-1.0)
