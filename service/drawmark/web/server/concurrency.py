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

    def resume(self, seconds: float) -> bool:
        """Calculate; whoever has a place may."""
        return True

    def rest(self) -> None:
        """Calculate no more, and keep the place."""

    def release(self) -> None:
        """Give a place back."""
        self._free.release()


def heavy_threads(threads: int) -> int:
    """Give how many of a worker's threads heavy requests take together."""
    return max(1, threads // 2)


class HeavyLimit:
    """Places for heavy requests, which take half of a worker's threads together.

    A quarter of those calculate while the others wait, or while their callers send or read: all
    threads share one interpreter, so more at once get no more done, and others feel each of them.
    """

    def __init__(self, threads: int, count: Callable[[float], None] = lambda change: None) -> None:
        most = heavy_threads(threads)
        self._count = count
        self._threads = threading.Semaphore(most)
        self._places = threading.Semaphore(max(1, most // 4))

    def acquire(self) -> bool:
        """Take a thread, as yet without calculating; False if none is free."""
        taken = self._threads.acquire(blocking=False)
        if taken:
            self._count(1.0)
        return taken

    def resume(self, seconds: float) -> bool:
        """Calculate; False if no place gets free in time."""
        return self._places.acquire(timeout=seconds)

    def rest(self) -> None:
        """Let another calculate, and keep the thread."""
        self._places.release()

    def release(self) -> None:
        """Give the thread of one that rests back."""
        self._threads.release()
        self._count(-1.0)


Limit = ConcurrencyLimit | HeavyLimit


class Places:
    """What one request has taken of its limits; it calculates only between resume and rest."""

    __slots__ = ("_is_resting", "_taken")

    def __init__(self) -> None:
        self._taken: list[Limit] = []
        self._is_resting = True

    def take(self, limit: Limit) -> bool:
        """Take a place; False if there is none."""
        taken = limit.acquire()
        if taken:
            self._taken.append(limit)
        return taken

    def resume(self, seconds: float = WAIT) -> bool:
        """Calculate, or go on; False if that is not possible in time."""
        if self._is_resting:
            self._is_resting = not all(limit.resume(seconds) for limit in self._taken)
        return not self._is_resting

    def rest(self) -> None:
        """Let others calculate while the caller sends or reads."""
        if not self._is_resting:
            self._is_resting = True
            for limit in self._taken:
                limit.rest()

    def release(self) -> None:
        """Give everything back; again, it does nothing."""
        self.rest()
        taken, self._taken = self._taken, []
        for limit in taken:
            limit.release()
