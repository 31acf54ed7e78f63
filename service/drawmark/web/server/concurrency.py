"""How often one caller may ask, and how many calculations run at once; in each worker."""

from __future__ import annotations

import ipaddress
import math
import threading
import time
from collections.abc import Callable, Mapping
from typing import Any, Final

MOST_CALLERS: Final = 10_000
_UNKNOWN: Final = "?"


class RateLimit:
    """A bucket of tokens for each caller: it fills at the rate, and holds what a second brings.

    Parameters
    ----------
    rate : float
        Requests a second.
    most : int
        Callers that are remembered; the one that asked longest ago is forgotten first.
    clock : callable
        Gives seconds that only grow.
    """

    def __init__(
        self,
        rate: float,
        most: int = MOST_CALLERS,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._rate, self._most, self._clock = rate, most, clock
        self._full = max(1.0, rate)
        self._levels: dict[str, tuple[float, float]] = {}
        self._turn = threading.Lock()

    def wait_of(self, caller: str) -> int:
        """Take a token out of a caller's bucket; the seconds to wait where there is none."""
        now = self._clock()
        with self._turn:
            level, last = self._levels.pop(caller, (self._full, now))
            level = min(self._full, level + (now - last) * self._rate)
            wait = 0 if level >= 1.0 else max(1, math.ceil((1.0 - level) / self._rate))
            # Taken out and put back: the first in the table is who asked longest ago.
            self._levels[caller] = (level if wait else level - 1.0, now)
            if len(self._levels) > self._most:
                del self._levels[next(iter(self._levels))]
        return wait

    @property
    def callers(self) -> int:
        """Number of callers that are remembered."""
        return len(self._levels)


class Room:
    """Places for calculations.

    Parameters
    ----------
    most : int
        How many there are.
    """

    def __init__(self, most: int) -> None:
        self._left = most
        self._turn = threading.Lock()

    def enter(self) -> bool:
        """Take a place; False where none is left."""
        with self._turn:
            if not self._left:
                return False
            self._left -= 1
        return True

    def leave(self) -> None:
        """Give a place back."""
        with self._turn:
            self._left += 1


def address_of(environ: Mapping[str, Any], proxies: int = 0) -> str:
    """Tell a caller's address.

    Parameters
    ----------
    environ : mapping
        The request.
    proxies : int
        Proxies in front, each of which adds the address it sees to X-Forwarded-For.

    Returns
    -------
    str
        The address that the furthest of these proxies saw, without proxies the peer's; of IPv6
        the network of 64 bits, which is one caller's.
    """
    text = str(environ.get("REMOTE_ADDR", ""))
    forwarded = environ.get("HTTP_X_FORWARDED_FOR") if proxies else None
    if forwarded:
        passed = forwarded.split(",")
        if len(passed) >= proxies:
            text = passed[-proxies].strip()
    if ":" not in text and not proxies:
        return text or _UNKNOWN
    try:
        address = ipaddress.ip_address(text)
    except ValueError:
        return _UNKNOWN
    if isinstance(address, ipaddress.IPv4Address):
        return str(address)
    if address.ipv4_mapped is not None:
        return str(address.ipv4_mapped)
    return str(ipaddress.ip_network((int(address) >> 64 << 64, 64)))
