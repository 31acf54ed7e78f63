"""Keeps what tells a new worker to end until the worker heeds it; gunicorn alone would lose it.

Just after the fork a worker has the handlers of the first process, which only note a signal.
"""

from __future__ import annotations

import os
import signal
from typing import Final

_TO_END: Final = (signal.SIGTERM, signal.SIGINT, signal.SIGQUIT)


def hold_signals() -> None:
    """Let signals wait; call it before a fork."""
    signal.pthread_sigmask(signal.SIG_BLOCK, _TO_END)


def take_signals() -> None:
    """Take those that wait; call it once they are heeded."""
    signal.pthread_sigmask(signal.SIG_UNBLOCK, _TO_END)


def use_early_signals() -> None:
    """Have the first process take signals again after each fork."""
    os.register_at_fork(after_in_parent=take_signals)
