"""Whose turn it is: batches take half of a worker's threads, and single requests get through."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from typing import Final

WAIT: Final = 1.0
"""How long a batch waits for its turn [s]."""


class Turns:
    """Turns of one worker.

    Parameters
    ----------
    threads : int
        Threads of the worker; half of them serve batches, and of the others one never waits.
    wait : float
        How long a batch waits for its turn [s].
    """

    def __init__(self, threads: int, wait: float = WAIT) -> None:
        at_once = max(1, threads // 2)
        self._wait = wait
        self._turns = threading.Semaphore(at_once)
        self._chairs = threading.Semaphore(max(0, threads - at_once - 1))

    def take(self) -> bool:
        """Take a turn; False where there is none for a while."""
        if self._turns.acquire(blocking=False):
            return True
        if not self._chairs.acquire(blocking=False):
            return False
        try:
            return self._turns.acquire(timeout=self._wait)
        finally:
            self._chairs.release()

    def give_back(self) -> None:
        """End a turn."""
        self._turns.release()


class InTurn:
    """Pieces of an answer that are sent in a turn, which ends with them or where nobody reads.

    Parameters
    ----------
    pieces : iterator of bytes
        The answer.
    end : callable
        Ends the turn; it is called once.
    """

    def __init__(self, pieces: Iterator[bytes], end: Callable[[], object]) -> None:
        self._pieces, self._end = pieces, end
        self._ended = False

    def __iter__(self) -> Iterator[bytes]:
        """Give the pieces."""
        try:
            yield from self._pieces
        finally:
            self.close()

    def close(self) -> None:
        """End the turn, whether or not all was sent."""
        if not self._ended:
            self._ended = True
            self._end()
