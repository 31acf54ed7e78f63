"""Limits how many calculations run at once, in each worker."""

from __future__ import annotations

import threading


class ConcurrencyLimit:
    """A number of places that never makes anyone wait."""

    def __init__(self, places: int) -> None:
        self._free = places
        self._lock = threading.Lock()

    def acquire(self) -> bool:
        """Take a place; False if none is free."""
        with self._lock:
            if not self._free:
                return False
            self._free -= 1
        return True

    def release(self) -> None:
        """Give a place back."""
        with self._lock:
            self._free += 1
