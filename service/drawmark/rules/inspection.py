"""Looks through one thing that a plugin's rule said: types, finite figures, plain text."""

from __future__ import annotations

import math
import operator
from typing import Any, Final, get_args

import msgspec
import numpy as np

from drawmark.rules.model import Ceiling, Finding, Floor, Measure, MeasureKind, Severity, Term

MOST_TERMS: Final = 20
LONGEST_TEXT: Final = 500
FURTHEST: Final = 3.0
"""No arrow is longer [m]; a longer one was surely meant in another unit."""

_SEVERITIES: Final = frozenset(get_args(Severity))
_KINDS: Final = frozenset(get_args(MeasureKind))
_MOST_SEEN: Final = 4096
_seen: Final[set[str]] = set()
"""Texts that were found good: rules say the same ones again and again."""


class UnsoundError(ValueError):
    """Raised where an answer cannot be used; says why."""


def is_text(value: object) -> bool:
    """Tell whether a value is text that any reader of an answer can take."""
    if type(value) is not str or len(value) > LONGEST_TEXT:
        return False
    return value.isprintable() or not any(
        "\ud800" <= sign <= "\udfff" or (sign < " " and sign not in "\n\t") or sign == "\x7f"
        for sign in value
    )


def is_plain(floor: Floor) -> bool:
    """Tell whether nearly all floors need no closer look: plain figures, and texts seen before."""
    length, reason, terms = floor.length, floor.reason, floor.terms
    if floor.when is not True or type(length) is not float or not -FURTHEST <= length <= FURTHEST:
        return False
    if type(reason) is not str or reason not in _seen or type(terms) is not tuple:
        return False
    for text in (floor.id, floor.source):
        if text is not None and (type(text) is not str or text not in _seen):
            return False
    for term in terms:
        if type(term) is not Term:
            return False
        value, name, source = term.value, term.name, term.source
        # What is not finite leaves no zero.
        if type(value) is not float or value - value or type(name) is not str or name not in _seen:
            return False
        if source is not None and (type(source) is not str or source not in _seen):
            return False
    return len(terms) <= MOST_TERMS


def _name(value: object) -> str:
    return type(value).__name__


class Inspector:
    """Checks for single cases (size None) or columns of a size."""

    def __init__(self, size: int | None) -> None:
        self.size = size

    def bound(self, one: Any) -> Floor | Ceiling | None:
        """Check a floor or a ceiling; UnsoundError, None where it holds nowhere."""
        when = self._truth(one.when)
        if when is False:
            return None
        length = self._figure(one.length, "length", when)
        if _any_beyond(length, FURTHEST, when):
            raise UnsoundError(f"gave a length beyond {FURTHEST:g} m; rules speak in metres")
        _check_text(one.reason, "reason")
        _check_text_or_none(one.id, "id")
        _check_text_or_none(one.source, "source")
        same = length is one.length and when is one.when
        if type(one) is Ceiling:
            return one if same else msgspec.structs.replace(one, length=length, when=when)
        if type(one.terms) is not tuple or len(one.terms) > MOST_TERMS:
            raise UnsoundError(f"gave terms that are not a tuple of at most {MOST_TERMS}")
        terms = tuple([self._term(term, when) for term in one.terms])
        if same and all(map(operator.is_, terms, one.terms)):
            return one  # type: ignore[no-any-return]
        return msgspec.structs.replace(one, length=length, terms=terms, when=when)  # type: ignore[no-any-return]

    def _term(self, term: Any, when: Any) -> Term:
        if type(term) is not Term:
            raise UnsoundError(f"gave {_name(term)} as a term")
        _check_text(term.name, "name of a term")
        _check_text_or_none(term.source, "source")
        value = self._figure(term.value, "term", when)
        return term if value is term.value else Term(term.name, value, term.source)

    def finding(self, one: Any) -> Finding | None:
        """Check a finding; UnsoundError, None where it holds nowhere."""
        when = self._truth(one.when)
        if when is False:
            return None
        severity = one.severity
        if type(severity) is not str or severity not in _SEVERITIES:
            raise UnsoundError("gave an unknown severity")
        _check_text(one.message, "message")
        _check_text_or_none(one.source, "source")
        if type(one.fields) is not tuple or len(one.fields) > MOST_TERMS:
            raise UnsoundError("gave fields that are not a short tuple")
        for field in one.fields:
            _check_text(field, "field")
        measured = self._measure(one.measured, when)
        limit = self._measure(one.limit, when)
        if measured is one.measured and limit is one.limit and when is one.when:
            return one  # type: ignore[no-any-return]
        return Finding(
            severity=severity,  # type: ignore[arg-type]
            message=one.message,
            when=when,
            measured=measured,
            limit=limit,
            source=one.source,
            fields=one.fields,
        )

    def _measure(self, measure: Any, when: Any) -> Measure | None:
        if measure is None:
            return None
        if type(measure) is not Measure:
            raise UnsoundError(f"gave {_name(measure)} as a measure")
        if type(measure.kind) is not str or measure.kind not in _KINDS:
            raise UnsoundError("gave a measure of an unknown kind")
        if type(measure.up) is not bool or type(measure.down) is not bool:
            raise UnsoundError("gave a measure whose `up` or `down` is not a yes or no")
        value = self._figure(measure.value, "measure", when)
        if measure.kind == "static_spine" and not np.all(np.greater(value, 0.0) | ~_where(when)):
            raise UnsoundError("gave a static spine that is not above zero")
        if value is measure.value:
            return measure
        return msgspec.structs.replace(measure, value=value)

    def _figure(self, value: Any, what: str, when: Any) -> Any:
        if type(value) is float:
            if math.isfinite(value):
                return value
            raise UnsoundError(f"gave a {what} that is not finite")
        if isinstance(value, np.ndarray):
            if self.size is None or value.shape != (self.size,) or value.dtype != np.float64:
                raise UnsoundError(f"gave a {what} of the wrong shape or type")
            if not np.all(np.isfinite(value) | ~_where(when)):
                raise UnsoundError(f"gave a {what} that is not finite")
            return value
        if isinstance(value, (int, float, np.integer, np.floating)) and not isinstance(value, bool):
            try:
                return self._figure(float(value), what, when)
            except OverflowError:
                raise UnsoundError(f"gave a {what} that is not finite") from None
        raise UnsoundError(f"gave {_name(value)} as a {what}")

    def _truth(self, value: Any) -> Any:
        if value is True or value is False:
            return value
        if isinstance(value, np.bool_):
            return bool(value)
        if (
            isinstance(value, np.ndarray)
            and self.size is not None
            and value.shape == (self.size,)
            and value.dtype == np.bool_
        ):
            return value if value.any() else False
        raise UnsoundError(f"gave {_name(value)} as a condition")


def _where(when: Any) -> Any:
    return when if isinstance(when, np.ndarray) else np.True_


def _any_beyond(length: Any, limit: float, when: Any) -> bool:
    if type(length) is float:
        return not -limit <= length <= limit
    return bool(np.any((np.abs(length) > limit) & _where(when)))


def _check_text(value: object, what: str) -> None:
    if type(value) is str and value in _seen:
        return
    if is_text(value) and value:
        if len(_seen) < _MOST_SEEN:
            _seen.add(str(value))
    else:
        raise UnsoundError(f"gave a {what} that is not plain text of 1 to {LONGEST_TEXT} signs")


def _check_text_or_none(value: object, what: str) -> None:
    if value is not None:
        _check_text(value, what)
