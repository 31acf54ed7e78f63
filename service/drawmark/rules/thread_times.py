"""How long a thread ran, and how long it was ready to run and could not, as the system tells."""

from __future__ import annotations

import threading
from typing import NamedTuple


class ThreadTimes(NamedTuple):
    """Both since the thread began [s]."""

    ran: float
    queued: float


def thread_times(thread: int) -> ThreadTimes | None:
    """Read the times of a thread of this process; None where the system does not tell."""
    native = next((one.native_id for one in threading.enumerate() if one.ident == thread), None)
    try:
        with open(f"/proc/self/task/{native}/schedstat", encoding="ascii") as told:
            ran, queued, _ = map(int, told.read().split())
    except (OSError, ValueError):
        return None
    return ThreadTimes(ran / 1e9, queued / 1e9)
