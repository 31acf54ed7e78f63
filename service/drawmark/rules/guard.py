"""Calls plugins' rules under watch: what raises is caught, what runs too long is stopped."""

from __future__ import annotations

import atexit
import logging
import os
from collections.abc import Callable, Iterable
from contextlib import suppress
from itertools import islice
from threading import get_ident
from time import monotonic, sleep
from typing import Any, Final

from drawmark.deadline import deadline
from drawmark.rules.strikes import STRIKES, WITHIN, Strikes
from drawmark.rules.validation import MOST_SAID, one_line
from drawmark.rules.watch import LATE, LET_IT_LOOK, TIME_LIMIT, Call, Key, RuleTimeout, Watch

MOST_LATE: Final = 3
"""Timeouts in one request after which it does not call a rule again."""

_MOST_LOGGED: Final = 1000
_MOST: Final = MOST_SAID + 1
_log = logging.getLogger(__name__)

Observer = Callable[[Key, float | None, str], object]
"""Told of a rule, of the time that a call of it took [s], and why it failed or nothing.

The time is None where it was not called, or what it answered turned out later to be no answer.
"""


class FailedError(Exception):
    """Raised where a rule's call gave no answer, or it was not called; says why."""

    def __init__(self, reason: str, timed_out: bool = False, refused: bool = False) -> None:
        super().__init__(reason)
        self.timed_out = timed_out
        self.refused = refused


class Guard:
    """Calls the rules of one process, and remembers what they did."""

    def __init__(self) -> None:
        self.watch = Watch()
        self.strikes = Strikes()
        self.observer: Observer | None = None
        self.begin()

    def begin(self) -> None:
        """Start again in a child process."""
        self.watch.begin()
        self.forget()

    def forget(self) -> None:
        """Forget earlier failures and call every rule again."""
        self.strikes.forget()
        self._late: set[Key] = set()
        self._logged: set[tuple[Key, str]] = set()

    @property
    def exit_callbacks(self) -> list[Callable[[], object]]:
        """What to call before the process ends because a rule cannot be stopped."""
        return self.watch.exit_callbacks

    def call_each(
        self,
        calls: Iterable[tuple[Key, Callable[[Any], Iterable[object]]]],
        case: Any,
        again: bool = False,
        strikes: bool = True,
    ) -> list[list[object] | FailedError]:
        """Run rules one after the other, each under watch for itself.

        Without strikes none is switched off: it may be slow because its case is a long column.
        """
        answers: list[list[object] | FailedError] = []
        watch, late, thread, observed = self.watch, self._late, get_ident(), self.observer
        table = watch.calls
        for key, check in calls:
            deadline.check()
            if key in late and (refusal := self._refuse(key)) is not None:
                answers.append(refusal)
                continue
            call = Call(key, thread)
            answer: list[object] | FailedError | None = None
            try:
                table[call] = call
                # The watch goes to sleep only where it then still finds no call in the table.
                if not (watch.awake or watch.wake()):
                    table.pop(call, None)
                    answers.append(FailedError("cannot be watched: no thread can be started"))
                    continue
                call.started = monotonic()
                if call.started - watch.looked_at > LATE:
                    # Rules that call C, each in time, could keep it waiting until the process ends.
                    sleep(LET_IT_LOOK)
                said: Any = ()
                try:
                    said = check(case)
                    answer = list(islice(said, _MOST))
                except BaseException as error:
                    answer = FailedError(self._describe(key, error, said))
                if table.pop(call, None) is None:
                    watch.take_back(call)
                    answer = None
            except RuleTimeout:
                answer = None
            if observed is not None and not (again and type(answer) is list):
                self._notify_of(call, answer)
            answers.append(self._stopped(call, case, strikes) if answer is None else answer)
        return answers

    def _notify_of(self, call: Call, answer: list[object] | FailedError | None) -> None:
        raised = isinstance(answer, FailedError)
        failed = "timeout" if answer is None else "raised" if raised else ""
        self.notify(call.key, monotonic() - call.started, failed)

    def _refuse(self, key: Key) -> FailedError | None:
        """Refuse to call a rule that is off, or was too slow again and again in this request."""
        if self.strikes.is_off(key):
            reason = (
                f"is off in this process for a while: it was too slow on {STRIKES} different "
                f"fittings within {WITHIN:g} s"
            )
        elif deadline.notes().get(key, 0) >= MOST_LATE:
            reason = f"is not asked again: it was too slow {MOST_LATE} times in this request"
        else:
            return None
        self.notify(key, None, "off")
        return FailedError(reason, timed_out=True, refused=True)

    def _stopped(self, call: Call, case: object, strikes: bool) -> FailedError:
        """Remember a call that was stopped; one request gives a rule one strike at most."""
        self.watch.overdue.pop(call, None)
        notes = deadline.notes()
        notes[call.key] = notes.get(call.key, 0) + 1
        self._late.add(call.key)
        struck = (call.key, "struck")
        if strikes and call.is_at_fault and struck not in notes:
            notes[struck] = 1
            self.strikes.add(call.key, case)
        _log.warning("rule %s of plugin %s ran out of time", call.key[1], call.key[0])
        return FailedError(f"ran longer than {TIME_LIMIT * 1000:g} ms", timed_out=True)

    def notify(self, key: Key, taken: float | None, failed: str) -> None:
        """Notify the observer of a call; its own faults harm no answer."""
        if self.observer is not None:
            with suppress(Exception):
                self.observer(key, taken, failed)

    def _describe(self, key: Key, error: BaseException, said: object) -> str:
        """Word an exception; still under watch, since its words are the plugin's."""
        kind = type(error).__name__
        if isinstance(error, RuleTimeout):
            return f"raised {kind}"
        if (key, kind) not in self._logged and len(self._logged) < _MOST_LOGGED:
            self._logged.add((key, kind))
            with suppress(Exception):
                _log.warning("rule %s of plugin %s raised", key[1], key[0], exc_info=error)
        try:
            if not hasattr(type(said), "__iter__"):
                returned = "None" if said is None else one_line(type(said).__name__, 60)
                return f"returned {returned}; yield what it says, or return a list"
            words = one_line(str(error), 200)
        except BaseException:
            words = ""
        return f"raised {kind}: {words}" if words else f"raised {kind}"


guard: Final = Guard()
atexit.register(guard.watch.end)
os.register_at_fork(
    before=guard.watch.before_fork,
    after_in_parent=guard.watch.after_fork_in_parent,
    after_in_child=guard.begin,
)
