"""Ends the process where a rule holds the interpreter's lock, so that no thread can watch it.

Two timers that need no lock run while rules are called, and the watch puts both off again and
again. Whoever holds the lock stops it from doing so: a regular expression without end burns
processor time and is met by the first timer, code in C that waits is met by the second. Either
writes the tracebacks of all threads to standard error. The lock is not given back to anyone, so
nobody can finish, and the exit status cannot be chosen: the first timer ends the process by
`SIGNAL`, the second with status 1.
"""

from __future__ import annotations

import faulthandler
import signal
from contextlib import suppress
from typing import Final

HELD: Final = 2.25
"""Processor time of all threads during which the lock may be held [s].

Processor time, since a machine that was suspended or is overloaded holds nobody's lock.
"""
WAITED: Final = 10.0
"""Time during which the lock may be held by code that waits [s]: long, for the same reason."""
SIGNAL: Final = getattr(signal, "SIGPROF", None)

_FAULTS: Final = (OSError, ValueError, RuntimeError)
_state: Final = {"handled": False, "waiting": False}


def arm() -> None:
    """End the process if this is not called again in time."""
    if _handle():
        signal.setitimer(signal.ITIMER_PROF, HELD)


def arm_wait() -> None:
    """Do the same for code that waits; it starts a thread, so do not call it often."""
    with suppress(*_FAULTS):
        faulthandler.dump_traceback_later(WAITED, file=2, exit=True)
        _state["waiting"] = True


def disarm() -> None:
    """Stop the timer."""
    if _state["handled"]:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
    if _state["waiting"]:
        faulthandler.cancel_dump_traceback_later()
        _state["waiting"] = False


def _handle() -> bool:
    """Have the signal write tracebacks and then do what it does by itself: end the process."""
    if not _state["handled"] and SIGNAL is not None:
        # Whoever handles the signal already wants it for something else.
        with suppress(*_FAULTS):
            if signal.getsignal(SIGNAL) is signal.SIG_DFL:
                faulthandler.register(SIGNAL, file=2, all_threads=True, chain=True)
                _state["handled"] = True
    return _state["handled"]
