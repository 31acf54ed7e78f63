"""The deadline of the request that a thread works at: long work looks at it between its slices.

There it also lets other threads run. Work that calls C gives the interpreter's lock back for
moments, each too short for a thread that waits; and meanwhile the interpreter asks it for no more.

Whoever answers requests begins and ends it. Elsewhere there is none, and work takes what it takes.
"""

from __future__ import annotations

import math
import select
from threading import get_ident
from time import monotonic, sleep
from typing import Any, Final, Protocol

import msgspec

LOOK_EVERY: Final = 0.1
"""How often work looks whether its caller is still there [s]."""
TURN_EVERY: Final = 0.003
"""How often work lets others run [s]."""
LET_OTHERS_RUN: Final = 1e-5
"""A sleep long enough for a thread that waits to take the interpreter's lock [s]."""
SLOW_BODY: Final = 0.25
"""After this a body that still arrives lets others calculate [s]."""
_GONE: Final = getattr(select, "POLLRDHUP", 0) | select.POLLHUP | select.POLLERR


class WorkAbandoned(BaseException):
    """Raised between slices of work; no Exception, so that nothing goes on as after a fault."""


class DeadlinePassed(WorkAbandoned):
    """The request took too long."""


class CallerGone(WorkAbandoned):
    """The caller closed its connection before it had an answer."""


class NoRoom(WorkAbandoned):
    """Others calculated when the body had arrived, and went on too long."""


class Room(Protocol):
    """Room to calculate, which a request leaves to others while it waits for its caller."""

    def rest(self) -> None:
        """Leave it to others."""

    def resume(self) -> bool:
        """Take it again; False if none gets free in time."""


class _Work(msgspec.Struct):
    end: float
    next_turn: float
    next_look: float
    caller: Any
    seconds: float
    room: Room | None
    slow: float
    notes: dict[Any, int] = {}


class Deadline:
    """The deadlines of all threads, each its own."""

    def __init__(self) -> None:
        # A dictionary is read in a quarter of the time that a thread's local variables take.
        self._works: dict[int, _Work] = {}

    def begin(self, seconds: float, caller: Any = None, room: Room | None = None) -> None:
        """Give the work from here on so many seconds.

        `caller` is the socket of its connection; `room` is left if its body takes long to arrive.
        """
        now = monotonic()
        turn, slow = now + min(seconds, TURN_EVERY), now + SLOW_BODY
        work = _Work(now + seconds, turn, now + LOOK_EVERY, caller, seconds, room, slow)
        self._works[get_ident()] = work

    def await_body(self, stands_still: bool = False) -> None:
        """Let others calculate if the body takes long to arrive, or its caller stands still."""
        work = self._works.get(get_ident())
        if work is not None and work.room and (stands_still or monotonic() > work.slow):
            work.room.rest()

    def restart(self) -> None:
        """Count from here on, since the body has arrived: a slow caller's body is no work."""
        work = self._works.get(get_ident())
        if work is None:
            return
        if work.room is not None and not work.room.resume():
            raise NoRoom
        work.room = None
        work.end = monotonic() + work.seconds

    def end(self) -> float:
        """Set no deadline any more; give the seconds that were left."""
        work = self._works.pop(get_ident(), None)
        return math.inf if work is None else work.end - monotonic()

    def notes(self) -> dict[Any, int]:
        """Give what the request of this thread remembers; without one, nothing is kept."""
        work = self._works.get(get_ident())
        return {} if work is None else work.notes

    def check(self) -> None:
        """Raise WorkAbandoned where the deadline has passed or the caller is gone."""
        work = self._works.get(get_ident())
        if work is None or (now := monotonic()) < work.next_turn:
            return
        if now >= work.end:
            raise DeadlinePassed
        sleep(LET_OTHERS_RUN)
        work.next_turn = min(work.end, monotonic() + TURN_EVERY)
        if now < work.next_look:
            return
        work.next_look = now + LOOK_EVERY
        if work.caller is not None and _is_gone(work.caller):
            raise CallerGone


def _is_gone(caller: Any) -> bool:
    poll = select.poll()
    poll.register(caller, _GONE)
    return bool(poll.poll(0))


deadline: Final = Deadline()
