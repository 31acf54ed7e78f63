"""Writes columns of measures as JSON, with the same digits as single measures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

import msgspec
import numpy as np

from drawmark.fitting.columns import Column, Whole
from drawmark.fitting.units import UNITS
from drawmark.rules.model import Measure
from drawmark.web.batch.unit_codes import SYMBOLS, Codes
from drawmark.web.wire.render import PLAIN, NotFiniteError, render, slack_of

UnitOf = Callable[[str], Codes | int]
_encode: Final = msgspec.json.Encoder().encode
_KNOWN: Final = [UNITS[symbol] for symbol in SYMBOLS[1:]]
_SCALES: Final = [
    (np.nan, False, 0, 1.0),
    *((unit.factor, unit.reciprocal, unit.decimals, 10.0**unit.decimals) for unit in _KNOWN),
]
"""Factor, sense, decimals and steps in 1 of each unit by its code: of one unit as plain figures."""
_FACTORS, _RECIPROCAL, _DECIMALS, _POWERS = map(np.array, zip(*_SCALES, strict=True))
_ENDS: Final = [b',"unit":' + _encode(symbol) + b"}" for symbol in SYMBOLS]
_DOUBT: Final = 1e-6
_MOST_STEPS: Final = 1e9


def write_measures(measure: Measure, items: Whole, unit_of: UnitOf) -> list[bytes]:
    """Write a measure of some items as JSON; NotFiniteError if a figure is not finite."""
    codes = 0 if measure.kind in PLAIN else unit_of(measure.kind)
    several = isinstance(measure.value, np.ndarray)
    if not several and isinstance(codes, int):
        return [_write_one(measure, SYMBOLS[codes])] * items.size
    values = measure.value[items] if several else np.full(items.size, measure.value)  # type: ignore[index]
    if not np.isfinite(values).all():
        raise NotFiniteError
    if measure.kind in PLAIN:
        decimals = PLAIN[measure.kind]
        return _texts(_round(values, decimals, 10.0**decimals))
    if not isinstance(codes, int):
        codes = codes[items]
    factors, reciprocal, decimals, scales = _scales_of(codes)
    figures = values / factors
    if reciprocal is not False and np.any(reciprocal):
        figures = np.where(reciprocal, factors / values, figures)
    if measure.up:
        figures = np.ceil((figures - slack_of(measure.kind, figures, factors)) * scales) / scales
    elif measure.down:
        figures = np.floor((figures + slack_of(measure.kind, figures, factors)) * scales) / scales
    else:
        figures = _round(figures, decimals, scales)
    texts = _texts(figures + 0.0)
    if isinstance(codes, int):
        end = _ENDS[codes]
        return [b'{"value":' + text + end for text in texts]
    ends = map(_ENDS.__getitem__, codes.tolist())
    return [b'{"value":' + text + end for text, end in zip(texts, ends, strict=True)]


def _scales_of(codes: Codes | int) -> Sequence[Any]:
    if isinstance(codes, int):
        return _SCALES[codes]
    return [column[codes] for column in (_FACTORS, _RECIPROCAL, _DECIMALS, _POWERS)]


def _write_one(measure: Measure, symbol: str) -> bytes:
    (figure,) = render([measure], {measure.kind: symbol})
    return _encode(figure)


def _round(figures: Column, decimals: Any, scales: Any) -> Column:
    """Round each figure as `round` does, which looks at its exact decimal value."""
    steps = figures * scales
    rounded: Column = np.rint(steps)
    # Near the middle between two figures, and where there are more steps than digits.
    doubtful = (np.abs(steps - rounded) > 0.5 - _DOUBT) | (np.abs(steps) > _MOST_STEPS)
    rounded /= scales
    if doubtful.any():
        places = np.broadcast_to(decimals, steps.shape)
        for at in np.flatnonzero(doubtful).tolist():
            rounded[at] = round(float(figures[at]), int(places[at]))
    return rounded


def _texts(figures: Column) -> list[bytes]:
    text = _encode(figures.tolist())
    if b"null" in text:
        raise NotFiniteError
    return text[1:-1].split(b",") if figures.size else []
