"""The watch over calls of plugins' rules: what runs too long is stopped.

One thread a process looks at the calls under way. A call belongs to the table of calls
for just as long as the rule runs; whoever takes it out decides its fate: the caller, when
the rule returns, or the watch, which then raises RuleTimeout in the caller's thread. Both
take it by one atomic step, so the exception can never strike other code than the rule's
or the few lines around it that expect it.

A call that heeds no exception ends the process: with `EXIT_STUCK` where the watch still runs, after
the other requests got a moment to finish, else by `kill_timer`.
"""

from __future__ import annotations

import ctypes
import faulthandler
import logging
import math
import os
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from typing import Final

import msgspec

from drawmark.rules import kill_timer
from drawmark.rules.thread_times import ThreadTimes, thread_times

TIME_LIMIT: Final = 0.25
"""What a rule's call may take: processor time of its thread, and waiting [s]."""
LONGEST_CALL: Final = 1.0
"""When a call ends in any case, though others kept the processor from it [s]."""
STUCK_AFTER: Final = 2.0
"""What a call that was told to stop may take until the process gives up [s]."""
GRACE: Final = 1.0
"""What other requests get to finish before the process ends [s]."""
EXIT_STUCK: Final = 70
TICK: Final = 0.05
"""How often calls are looked at [s]."""

LATE: Final = 0.25
"""After this time without a look at calls, whoever calls rules waits for the watch [s]."""
LET_IT_LOOK: Final = 1e-4
"""A sleep long enough for the watch to take the interpreter's lock [s]."""

_LONGEST_TICK: Final = 2.0
"""What a tick counts at most, of its usual time."""
_AT_WORK: Final = 0.01
"""Share of a tick that a thread which works runs at least."""
_IDLE_TICKS: Final = 20
_REST: Final = 1.0
_ARM_WAIT_EVERY: Final = 0.5
_LONGEST_WAIT: Final = 5.0
_log = logging.getLogger(__name__)

Key = tuple[str, str]
"""Plugin and rule."""


class RuleTimeout(BaseException):
    """Raised inside a rule that has run too long; a rule should let it pass."""


class Call(msgspec.Struct, eq=False, gc=False):
    """A call of a rule: whose, in which thread, since when, and whether it was told to stop.

    `watched` and `spent` are counted from tick to tick, and a tick counts little more than its
    usual time: a process that was stopped, or a machine that slept, costs no rule its time.
    """

    key: Key
    thread: int
    started: float = math.inf
    told: bool = False
    watched: float = 0.0
    spent: float = 0.0
    times: ThreadTimes | None = None

    def count(self, elapsed: float) -> None:
        """Count time that has gone by: all of it as watched, the rule's own as spent."""
        before, self.times = self.times, thread_times(self.thread)
        self.watched += elapsed
        if before is None or self.times is None:
            self.spent += elapsed
            return
        ran, queued = self.times.ran - before.ran, self.times.queued - before.queued
        # A thread that runs now and then is waiting for the interpreter or the processor between.
        waits = ran < _AT_WORK * elapsed
        self.spent += max(elapsed - queued, 0.0) if waits else min(ran, elapsed)

    @property
    def is_overdue(self) -> bool:
        """Tell whether the call has used up its time."""
        return self.spent > TIME_LIMIT or self.watched > LONGEST_CALL

    @property
    def is_at_fault(self) -> bool:
        """Tell whether it did so by itself, and not because the machine is busy."""
        return self.spent > TIME_LIMIT


def _raise_in(thread: int, exception: type[BaseException] | None) -> None:
    """Raise an exception in a thread at its next step; None takes a waiting one back."""
    ctypes.pythonapi.PyThreadState_SetAsyncExc(
        ctypes.c_ulong(thread), None if exception is None else ctypes.py_object(exception)
    )


def counted(elapsed: float) -> float:
    """Give what a tick counts [s]: in one that lasted far longer the process stood still."""
    return min(elapsed, _LONGEST_TICK * TICK)


class Watch:
    """The watch of one process.

    Attributes
    ----------
    calls : dict
        Calls under way.
    overdue : dict
        Calls that were told to stop and have not ended yet.
    awake : bool
        The thread looks at calls; where not, `wake` must be called before a rule.
    looked_at : float
        When it did so last.
    exit_callbacks : list of callable
        Called before the process ends because it cannot stop a rule.
    """

    def __init__(self) -> None:
        self.exit_callbacks: list[Callable[[], object]] = []
        self.begin()

    def begin(self) -> None:
        """Start again in a child process."""
        self.calls: dict[Call, Call] = {}
        self.overdue: dict[Call, Call] = {}
        self.awake = False
        self.looked_at = 0.0
        self._turn = threading.Lock()
        self._call_for_watch = threading.Event()
        self._thread: threading.Thread | None = None

    def take_back(self, call: Call) -> None:
        """Clear the exception if the rule swallowed it or returned just before it."""
        deadline = time.monotonic() + _LONGEST_WAIT
        while not call.told and time.monotonic() < deadline:
            time.sleep(0.001)
        if not call.told:
            _raise_in(call.thread, None)
        # One that still waits strikes here, where it is expected. To take it back would leave the
        # interpreter looking out for it at each of its steps.
        for _ in range(10):
            time.sleep(0)

    def wake(self) -> bool:
        """Have the thread look at calls; False where none can be started."""
        with self._turn:
            # The rule about to be called may hold the interpreter's lock from its first step on.
            kill_timer.arm()
            kill_timer.arm_wait()
            if self._thread is None or not self._thread.is_alive():
                self._thread = threading.Thread(target=self._watch, name="rule watch", daemon=True)
                try:
                    self._thread.start()
                except RuntimeError:
                    self._thread = None
                    kill_timer.disarm()
                    return False
            self.awake = True
            self.looked_at = time.monotonic()
        self._call_for_watch.set()
        return True

    def _watch(self) -> None:
        idle, armed_at = 0, 0.0
        while True:
            if not self._call_for_watch.wait(_REST) and not self.calls and not self.overdue:
                continue
            before = time.monotonic()
            time.sleep(TICK)
            now = time.monotonic()
            elapsed = counted(now - before)
            self.looked_at = now
            with self._turn:
                if self.awake:
                    kill_timer.arm()
                    if now - armed_at > _ARM_WAIT_EVERY:
                        kill_timer.arm_wait()
                        armed_at = now
            for call in self.calls.copy():
                if now > call.started:
                    call.count(min(elapsed, now - call.started))
                if call.is_overdue:
                    self._stop(call)
            for call in self.overdue.copy():
                call.watched += elapsed
                if call.watched > STUCK_AFTER:
                    self._give_up(call)
            idle = 0 if self.calls or self.overdue else idle + 1
            if idle > _IDLE_TICKS:
                self._rest()
                idle, armed_at = 0, 0.0

    def _rest(self) -> None:
        with self._turn:
            self.awake = False
            self._call_for_watch.clear()
            if self.calls:
                # It came just before, and saw the watch still awake.
                self.awake = True
                self._call_for_watch.set()
            else:
                kill_timer.disarm()

    def _stop(self, call: Call) -> None:
        self.overdue[call] = call
        if self.calls.pop(call, None) is None:
            self.overdue.pop(call, None)
            return
        call.watched = 0.0
        _raise_in(call.thread, RuleTimeout)
        call.told = True

    def _give_up(self, call: Call) -> None:
        _log.critical("rule %s of plugin %s cannot be stopped; leaving", call.key[1], call.key[0])
        for callback in self.exit_callbacks:
            with suppress(Exception):
                callback()
        time.sleep(GRACE)
        with suppress(OSError, ValueError, RuntimeError):
            faulthandler.dump_traceback(file=2, all_threads=True)
        os._exit(EXIT_STUCK)

    def end(self) -> None:
        """Stop the timers where the interpreter ends: the watch can put them off no more."""
        with self._turn:
            self.awake = False
            kill_timer.disarm()

    def before_fork(self) -> None:
        """Stop the timers."""
        # The timer's thread does not live on in a child, which would then wait for it.
        self._turn.acquire()
        kill_timer.disarm()

    def after_fork_in_parent(self) -> None:
        """Start them again."""
        if self.awake:
            kill_timer.arm()
            kill_timer.arm_wait()
        self._turn.release()
