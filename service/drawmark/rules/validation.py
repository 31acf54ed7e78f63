"""Validates what plugins' rules say: types, finite figures, plain text.

An answer is taken whole or not at all. Figures that numpy made become floats.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Sequence
from typing import Any, Final, get_args

import numpy as np
from msgspec.structs import replace

from drawmark.fitting.floors import Term
from drawmark.rules.model import (
    Ceiling,
    Finding,
    Floor,
    Gift,
    Measure,
    MeasureKind,
    Said,
    Severity,
)

MOST_SAID: Final = 50
MOST_TERMS: Final = 20
LONGEST_TEXT: Final = 500
FURTHEST: Final = 3.0
"""No arrow is longer [m]; a longer one was surely meant in another unit."""

_GIFTS: Final[dict[type, Gift]] = {Floor: "floor", Ceiling: "ceiling", Finding: "finding"}
_SEVERITIES: Final = frozenset(get_args(Severity))
# No rule is told of a target, so none measures a distance to it.
_KINDS: Final = frozenset(get_args(MeasureKind)) - {"distance"}
_MOST_KNOWN: Final = 4096
_known: Final[set[str]] = set()
"""Texts that were found good: rules say the same ones again and again."""


class UnsoundError(ValueError):
    """Raised where an answer cannot be used; says why."""


def validate(said: Sequence[object], gives: frozenset[Gift], size: int | None = None) -> list[Said]:
    """Validate what a rule said; UnsoundError at the first thing that cannot be used."""
    if len(said) > MOST_SAID:
        raise UnsoundError(f"said more than {MOST_SAID} things")
    validator = _SINGLE if size is None else _Validator(size)
    good: list[Said] = []
    for one in said:
        if size is None and type(one) is Floor and "floor" in gives and _is_plain(one):
            good.append(one)
            continue
        gift = _GIFTS.get(type(one))
        if gift is None:
            raise UnsoundError(
                f"returned {type(one).__name__}, not a floor, a ceiling or a finding"
            )
        if gift not in gives:
            raise UnsoundError(f"said a {gift}, which it does not declare in `gives`")
        when: Any = one.when  # type: ignore[attr-defined]
        if when is not False and (when := validator.truth(when)) is not False:
            good.append((validator.finding if gift == "finding" else validator.bound)(one, when))
    return good


def is_text(value: object) -> bool:
    """Tell whether a value is text that any reader of an answer can take."""
    if type(value) is not str or len(value) > LONGEST_TEXT:
        return False
    return value.isprintable() or not any(
        "\ud800" <= sign <= "\udfff" or (sign < " " and sign not in "\n\t") or sign == "\x7f"
        for sign in value
    )


def one_line(words: str, longest: int = LONGEST_TEXT) -> str:
    """Give what a plugin wrote as one line that any reader of an answer can take."""
    words = " ".join(words[:longest].split())
    return "".join(sign if sign.isprintable() else "?" for sign in words)


def _is_plain(floor: Floor) -> bool:
    """Tell whether a floor needs no closer look, as nearly all: plain figures and known texts."""
    length, reason, terms = floor.length, floor.reason, floor.terms
    if floor.when is not True or type(length) is not float or not -FURTHEST <= length <= FURTHEST:
        return False
    if type(reason) is not str or reason not in _known or type(terms) is not tuple:
        return False
    for text in (floor.id, floor.source):
        if text is not None and (type(text) is not str or text not in _known):
            return False
    for term in terms:
        if type(term) is not Term:
            return False
        value, name, source = term.value, term.name, term.source
        # What is not finite leaves no zero.
        if type(value) is not float or value - value or type(name) is not str or name not in _known:
            return False
        if source is not None and (type(source) is not str or source not in _known):
            return False
    return len(terms) <= MOST_TERMS


class _Validator:
    """Checks for single cases (size None) or columns of a size."""

    def __init__(self, size: int | None) -> None:
        self.size = size

    def truth(self, value: Any) -> Any:
        """Check a condition; False where it holds nowhere."""
        if value is True or value is False:
            return value
        if isinstance(value, np.bool_):
            return bool(value)
        if self._is_column(value, np.bool_):
            return value.copy() if value.any() else False
        raise UnsoundError(f"gave {type(value).__name__} as a condition")

    def bound(self, one: Any, when: Any) -> Floor | Ceiling:
        """Check a floor or a ceiling; the same object where no figure had to be replaced."""
        length = self._figure(one.length, "length", when)
        far = abs(length) > FURTHEST if type(length) is float else _is_far(length, when)
        if far:
            raise UnsoundError(f"gave a length beyond {FURTHEST:g} m; rules speak in metres")
        _check_text(one.reason, "reason")
        _check_text_or_none(one.id, "id")
        _check_text_or_none(one.source, "source")
        same = length is one.length and when is one.when
        if type(one) is Ceiling:
            return one if same else replace(one, length=length, when=when)
        _check_tuple(one.terms, "terms")
        terms = tuple([self._term(term, when) for term in one.terms])
        if same and all(map(operator.is_, terms, one.terms)):
            return one  # type: ignore[no-any-return]
        return replace(one, length=length, terms=terms, when=when)  # type: ignore[no-any-return]

    def _term(self, term: Any, when: Any) -> Term:
        if type(term) is not Term:
            raise UnsoundError(f"gave {type(term).__name__} as a term")
        _check_text(term.name, "name of a term")
        _check_text_or_none(term.source, "source")
        value = self._figure(term.value, "term", when)
        return term if value is term.value else Term(term.name, value, term.source)

    def finding(self, one: Any, when: Any) -> Finding:
        """Check a finding; the same object where no figure had to be replaced."""
        if type(one.severity) is not str or one.severity not in _SEVERITIES:
            raise UnsoundError("gave an unknown severity")
        _check_text(one.message, "message")
        _check_text_or_none(one.source, "source")
        _check_tuple(one.fields, "fields")
        for field in one.fields:
            _check_text(field, "field")
        measured, limit = self._measure(one.measured, when), self._measure(one.limit, when)
        if measured is one.measured and limit is one.limit and when is one.when:
            return one  # type: ignore[no-any-return]
        return replace(one, measured=measured, limit=limit, when=when)  # type: ignore[no-any-return]

    def _measure(self, measure: Any, when: Any) -> Measure | None:
        if measure is None:
            return None
        if type(measure) is not Measure:
            raise UnsoundError(f"gave {type(measure).__name__} as a measure")
        if type(measure.kind) is not str or measure.kind not in _KINDS:
            raise UnsoundError("gave a measure of an unknown kind")
        if type(measure.up) is not bool or type(measure.down) is not bool:
            raise UnsoundError("gave a measure whose `up` or `down` is neither True nor False")
        value = self._figure(measure.value, "measure", when)
        if measure.kind == "static_spine" and not np.all(np.greater(value, 0.0) | ~_where(when)):
            raise UnsoundError("gave a static spine that is not above zero")
        return measure if value is measure.value else replace(measure, value=value)

    def _figure(self, value: Any, what: str, when: Any) -> Any:
        if type(value) is float:
            if math.isfinite(value):
                return value
            raise UnsoundError(f"gave a {what} that is not finite")
        if isinstance(value, np.ndarray):
            if not self._is_column(value, np.float64):
                raise UnsoundError(f"gave a {what} of the wrong shape or type")
            if not np.all(np.isfinite(value) | ~_where(when)):
                raise UnsoundError(f"gave a {what} that is not finite")
            return value.copy()
        if isinstance(value, (int, float, np.integer, np.floating)) and not isinstance(value, bool):
            try:
                return self._figure(_plain_float(value), what, when)
            except OverflowError:
                raise UnsoundError(f"gave a {what} that is not finite") from None
        raise UnsoundError(f"gave {type(value).__name__} as a {what}")

    def _is_column(self, value: Any, dtype: type) -> bool:
        """Tell whether a value is a column of plain figures, with nothing hidden beside them.

        What is taken is then copied: the rule may write to its own arrays again.
        """
        return type(value) is np.ndarray and value.shape == (self.size,) and value.dtype == dtype


_SINGLE: Final = _Validator(None)


def _plain_float(value: Any) -> float:
    # What a subclass says of its own value is not asked.
    if isinstance(value, float):
        return float.__float__(value)
    return int.__float__(value) if isinstance(value, int) else float(value)


def _is_far(column: Any, when: Any) -> bool:
    return bool(np.any((np.abs(column) > FURTHEST) & _where(when)))


def _where(when: Any) -> Any:
    return when if isinstance(when, np.ndarray) else np.True_


def _check_tuple(value: object, what: str) -> None:
    if type(value) is not tuple or len(value) > MOST_TERMS:
        raise UnsoundError(f"gave {what} that are not a tuple of at most {MOST_TERMS}")


def _check_text(value: object, what: str) -> None:
    if type(value) is str and value in _known:
        return
    if not is_text(value) or not value:
        raise UnsoundError(f"gave a {what} that is not plain text of 1 to {LONGEST_TEXT} signs")
    if len(_known) < _MOST_KNOWN:
        _known.add(str(value))


def _check_text_or_none(value: object, what: str) -> None:
    if value is not None:
        _check_text(value, what)
