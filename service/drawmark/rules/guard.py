"""The watch over plugins' rules: what runs too long is stopped, what raises is caught.

One thread a process looks at the calls under way. A call belongs to the table of calls
for just as long as the rule runs; whoever takes it out decides its fate: the caller, when
the rule returns, or the watch, which then raises RuleTimeout in the caller's thread. Both
take it by one atomic step, so the exception can never strike other code than the rule's
or the few lines around it that expect it.

A call that heeds no exception ends the process: with `EXIT_STUCK` where the watch still runs, after
the other requests got a moment to finish, else by `lastresort`.
"""

from __future__ import annotations

import ctypes
import faulthandler
import logging
import math
import os
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterable
from contextlib import suppress
from itertools import islice
from threading import get_ident
from time import monotonic
from typing import Final

import msgspec

from drawmark.rules import lastresort
from drawmark.rules.model import Case, Check
from drawmark.rules.soundness import MOST_SAID

TIME_LIMIT: Final = 0.25
"""What a rule's call may take [s]."""
STUCK_AFTER: Final = 2.0
"""What a call that was told to stop may take until the process gives up [s]."""
FAREWELL: Final = 1.0
"""What other requests get to finish before the process ends [s]."""
STRIKES: Final = 3
"""Timeouts after which a rule is not called any more."""
EXIT_STUCK: Final = 70

_TICK: Final = 0.05
_IDLE_TICKS: Final = 20
_REST: Final = 1.0
_ARM_WAIT_EVERY: Final = 0.5
_LONGEST_WAIT: Final = 5.0
_MOST_LOGGED: Final = 1000
_MOST: Final = MOST_SAID + 1
_log = logging.getLogger(__name__)

Key = tuple[str, str]
Observer = Callable[[Key, float | None, str], object]
"""Told of a rule, of the time that a call of it took [s], and why it failed or nothing.

The time is None where it was not called, or what it answered turned out later to be no answer.
"""


class RuleTimeout(BaseException):
    """Raised inside a rule that has run too long; a rule should let it pass."""


class FailedError(Exception):
    """Raised where a rule's call gave no answer; says why."""

    def __init__(self, reason: str, timed_out: bool = False) -> None:
        super().__init__(reason)
        self.timed_out = timed_out


class _Call(msgspec.Struct, eq=False, gc=False):
    key: Key
    thread: int
    started: float = math.inf
    told: bool = False


def _raise_in(thread: int, exception: type[BaseException] | None) -> None:
    """Raise an exception in a thread at its next step; None takes a waiting one back."""
    ctypes.pythonapi.PyThreadState_SetAsyncExc(
        ctypes.c_ulong(thread), None if exception is None else ctypes.py_object(exception)
    )


class Guard:
    """The watch of one process."""

    def __init__(self) -> None:
        self.last_words: list[Callable[[], object]] = []
        self.observer: Observer | None = None
        self._begin()

    def _begin(self) -> None:
        self._calls: dict[_Call, _Call] = {}
        self._overdue: dict[_Call, _Call] = {}
        self._strikes: Counter[Key] = Counter()
        self._logged: set[tuple[Key, str]] = set()
        self._turn = threading.Lock()
        self._off: set[Key] = set()
        self._awake = False
        self._call_for_watch = threading.Event()
        self._thread: threading.Thread | None = None

    def is_off(self, key: Key) -> bool:
        """Tell whether a rule has run out of time too often to be called again."""
        return key in self._off

    def call(self, key: Key, check: Check, case: Case) -> list[object]:
        """Run a rule under watch.

        Parameters
        ----------
        key : tuple of str
            Plugin and rule.
        check : callable
            The rule's check.
        case : Case
            What it is asked about.

        Returns
        -------
        list
            What it said, one thing more at most than it may say.

        Raises
        ------
        FailedError
            If it raised anything, ran out of time, is off or cannot be watched.
        """
        (answer,) = self.call_each(((key, check),), case)
        if isinstance(answer, FailedError):
            raise answer
        return answer

    def call_each(
        self, calls: Iterable[tuple[Key, Check]], case: Case
    ) -> list[list[object] | FailedError]:
        """Run rules one after the other, each under watch for itself.

        Parameters
        ----------
        calls : iterable of tuple
            Plugin and rule, and the rule's check.
        case : Case
            What they are asked about.

        Returns
        -------
        list
            What each said, or why it gave no answer; see `call`.
        """
        answers: list[list[object] | FailedError] = []
        table, off, thread, observed = self._calls, self._off, get_ident(), self.observer
        for key, check in calls:
            if key in off:
                answers.append(self._refuse(key))
                continue
            call = _Call(key, thread)
            answer: list[object] | FailedError | None = None
            try:
                table[call] = call
                # The watch goes to sleep only where it then still finds no call in the table.
                if not (self._awake or self._wake()):
                    table.pop(call, None)
                    answers.append(FailedError("cannot be watched: no thread can be started"))
                    continue
                call.started = monotonic()
                try:
                    answer = list(islice(check(case), _MOST))
                except BaseException as error:
                    answer = FailedError(self._describe(key, error))
                if table.pop(call, None) is None:
                    self._take_back(call)
                    answer = None
            except RuleTimeout:
                answer = None
            if observed is not None:
                self._tell_of(call, answer)
            answers.append(self._strike(call) if answer is None else answer)
        return answers

    def _tell_of(self, call: _Call, answer: list[object] | FailedError | None) -> None:
        raised = isinstance(answer, FailedError)
        failed = "timeout" if answer is None else "raised" if raised else ""
        self.tell(call.key, monotonic() - call.started, failed)

    def _refuse(self, key: Key) -> FailedError:
        self.tell(key, None, "off")
        return FailedError(f"off in this process after {STRIKES} timeouts", timed_out=True)

    def _strike(self, call: _Call) -> FailedError:
        self._overdue.pop(call, None)
        self._strikes[call.key] += 1
        if self._strikes[call.key] >= STRIKES:
            self._off.add(call.key)
        _log.warning("rule %s of plugin %s ran out of time", call.key[1], call.key[0])
        return FailedError(f"ran longer than {TIME_LIMIT * 1000:g} ms", timed_out=True)

    def tell(self, key: Key, taken: float | None, failed: str) -> None:
        """Tell the observer of a call; its own faults harm no answer."""
        if self.observer is not None:
            with suppress(Exception):
                self.observer(key, taken, failed)

    def _describe(self, key: Key, error: BaseException) -> str:
        """Word an exception; still under watch, since its words are the plugin's."""
        kind = type(error).__name__
        if isinstance(error, RuleTimeout):
            return f"raised {kind}"
        if (key, kind) not in self._logged and len(self._logged) < _MOST_LOGGED:
            self._logged.add((key, kind))
            with suppress(Exception):
                _log.warning("rule %s of plugin %s raised", key[1], key[0], exc_info=error)
        try:
            words = str(error)[:200]
        except BaseException:
            words = ""
        words = "".join(sign if sign.isprintable() else "?" for sign in words)
        return f"raised {kind}: {words}" if words else f"raised {kind}"

    def _take_back(self, call: _Call) -> None:
        """Take back the exception where the rule swallowed it or returned just before it."""
        deadline = time.monotonic() + _LONGEST_WAIT
        while not call.told and time.monotonic() < deadline:
            time.sleep(0.001)
        _raise_in(call.thread, None)

    def _wake(self) -> bool:
        with self._turn:
            # The rule about to be called may hold the interpreter's lock from its first step on.
            lastresort.arm()
            lastresort.arm_wait()
            if self._thread is None or not self._thread.is_alive():
                self._thread = threading.Thread(target=self._watch, name="rule watch", daemon=True)
                try:
                    self._thread.start()
                except RuntimeError:
                    self._thread = None
                    lastresort.disarm()
                    return False
            self._awake = True
        self._call_for_watch.set()
        return True

    def _watch(self) -> None:
        idle, armed_at = 0, 0.0
        while True:
            if not self._call_for_watch.wait(_REST) and not self._calls and not self._overdue:
                continue
            time.sleep(_TICK)
            now = time.monotonic()
            with self._turn:
                if self._awake:
                    lastresort.arm()
                    if now - armed_at > _ARM_WAIT_EVERY:
                        lastresort.arm_wait()
                        armed_at = now
            for call in self._calls.copy():
                if now - call.started > TIME_LIMIT:
                    self._stop(call)
            for call in self._overdue.copy():
                if now - call.started > TIME_LIMIT + STUCK_AFTER:
                    self._give_up(call)
            idle = 0 if self._calls or self._overdue else idle + 1
            if idle > _IDLE_TICKS:
                self._rest()
                idle, armed_at = 0, 0.0

    def _rest(self) -> None:
        with self._turn:
            self._awake = False
            self._call_for_watch.clear()
            if self._calls:
                # It came just before, and saw the watch still awake.
                self._awake = True
                self._call_for_watch.set()
            else:
                lastresort.disarm()

    def _stop(self, call: _Call) -> None:
        self._overdue[call] = call
        if self._calls.pop(call, None) is None:
            self._overdue.pop(call, None)
            return
        _raise_in(call.thread, RuleTimeout)
        call.told = True

    def _give_up(self, call: _Call) -> None:
        _log.critical("rule %s of plugin %s cannot be stopped; leaving", call.key[1], call.key[0])
        for words in self.last_words:
            with suppress(Exception):
                words()
        time.sleep(FAREWELL)
        with suppress(OSError, ValueError, RuntimeError):
            faulthandler.dump_traceback(file=2, all_threads=True)
        os._exit(EXIT_STUCK)

    def _before_fork(self) -> None:
        # The timer's thread does not live on in a child, which would then wait for it.
        self._turn.acquire()
        lastresort.disarm()

    def _after_fork_in_parent(self) -> None:
        if self._awake:
            lastresort.arm()
            lastresort.arm_wait()
        self._turn.release()


guard: Final = Guard()
os.register_at_fork(
    before=guard._before_fork,
    after_in_parent=guard._after_fork_in_parent,
    after_in_child=guard._begin,
)
