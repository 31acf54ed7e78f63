"""Limits how often one caller may ask, in each worker."""

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
    """A token bucket for each caller, filled at a rate a second; it holds one second's worth.

    `rate` is for callers that have none of their own; 0 for no limit.
    """

    def __init__(
        self,
        rate: float,
        most_callers: int = MOST_CALLERS,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._rate, self._most_callers, self._clock = rate, most_callers, clock
        self._buckets: dict[str, tuple[float, float]] = {}
        self._lock = threading.Lock()

    @property
    def is_on(self) -> bool:
        """Whether callers without a rate of their own are limited."""
        return self._rate > 0

    def take(self, caller: str, own: float = 0) -> int:
        """Take a token from a caller's bucket; if it is empty, give the seconds to wait."""
        rate = own or self._rate
        if not rate:
            return 0
        capacity, now = max(1.0, rate), self._clock()
        with self._lock:
            level, last = self._buckets.pop(caller, (capacity, now))
            level = min(capacity, level + (now - last) * rate)
            wait = 0 if level >= 1.0 else max(1, math.ceil((1.0 - level) / rate))
            # Removed and put back: the first bucket is always the one used longest ago.
            self._buckets[caller] = (level if wait else level - 1.0, now)
            if len(self._buckets) > self._most_callers:
                del self._buckets[next(iter(self._buckets))]
        return wait


def client_address(environ: Mapping[str, Any], proxies: int = 0) -> str:
    """Give the address that the outermost trusted proxy saw; for IPv6 its /64 network."""
    text = str(environ.get("REMOTE_ADDR", ""))
    forwarded = environ.get("HTTP_X_FORWARDED_FOR") if proxies else None
    if forwarded:
        # Each proxy appends the address that it sees.
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
    # One caller usually has a whole /64.
    return str(ipaddress.ip_network((int(address) >> 64 << 64, 64)))
