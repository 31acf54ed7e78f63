"""Ends the wait for code of a plugin that runs at the start, such as its import."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Final, TypeVar

_Result = TypeVar("_Result")
_STEP: Final = 0.05


def run_in_time(function: Callable[[], _Result], seconds: float) -> _Result | None:
    """Run a function in a thread of its own; None if it does not end in time.

    The thread is then left behind, since nothing stops it for certain. The wait is counted in
    short steps, so that a process that was stopped for a while has not used up its time.
    """
    results: list[_Result] = []
    thread = threading.Thread(target=lambda: results.append(function()), daemon=True)
    thread.start()
    for _ in range(round(seconds / _STEP)):
        thread.join(_STEP)
        if not thread.is_alive():
            break
    return results[0] if results else None
