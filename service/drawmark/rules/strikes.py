"""Which rules are switched off for a while: those too slow on several fittings."""

from __future__ import annotations

import dataclasses
import logging
import threading
from collections.abc import Callable
from time import monotonic
from typing import Any, Final

from drawmark.rules.model import Case
from drawmark.rules.watch import Key

STRIKES: Final = 3
"""Different fittings on which a rule is too slow before it is switched off."""
WITHIN: Final = 60.0
"""How long a strike counts [s]."""
REST: Final = 60.0
"""How long a rule is off before it is tried again [s]."""

_log = logging.getLogger(__name__)


class Strikes:
    """The strikes of one process; `observer` is told when a rule is switched off or tried again."""

    def __init__(self) -> None:
        self.observer: Callable[[Key, bool], object] | None = None
        self.forget()

    def forget(self) -> None:
        """Call every rule again."""
        self._lock = threading.Lock()
        self._slow: dict[Key, dict[int, float]] = {}
        self._off: dict[Key, float] = {}

    def is_off(self, key: Key) -> bool:
        """Tell whether a rule is off; one that has rested is tried again."""
        until = self._off.get(key)
        if until is None or monotonic() < until:
            return until is not None
        with self._lock:
            again = self._off.pop(key, None) is not None
            self._slow.pop(key, None)
        if again:
            _log.warning("rule %s of plugin %s is tried again", key[1], key[0])
            self._observe(key, False)
        return False

    def add(self, key: Key, case: object) -> None:
        """Note that a rule was too slow on a case; the same fitting counts once."""
        now, fitting = monotonic(), hash(repr(_given(case)))
        with self._lock:
            slow = {at: then for at, then in self._slow.get(key, {}).items() if now - then < WITHIN}
            self._slow[key] = {**slow, fitting: now}
            if len(self._slow[key]) < STRIKES or key in self._off:
                return
            self._off[key] = now + REST
        _log.error(
            "rule %s of plugin %s is off for %g s: it was too slow on %d fittings within %g s",
            *(key[1], key[0], REST, STRIKES, WITHIN),
        )
        self._observe(key, True)

    def _observe(self, key: Key, is_off: bool) -> None:
        if self.observer is not None:
            self.observer(key, is_off)


def _given(case: object) -> list[Any]:
    """Give what a request said, without what followed from it."""
    parts = (case.archer, case.bow, case.arrow, case.inputs) if isinstance(case, Case) else (case,)
    # A plugin may have written the `repr` of its inputs.
    return [
        [getattr(part, field.name) for field in dataclasses.fields(part)]
        if dataclasses.is_dataclass(part)
        else part
        for part in parts
    ]
