"""Writes columns of measures as JSON, with the same digits as single measures."""

from __future__ import annotations

from collections.abc import Callable
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
_FACTORS: Final = np.array([np.nan, *(unit.factor for unit in _KNOWN)])
_RECIPROCAL: Final = np.array([False, *(unit.reciprocal for unit in _KNOWN)])
_DECIMALS: Final = np.array([0, *(unit.decimals for unit in _KNOWN)])
_POWERS: Final = np.array([float(10**decimals) for decimals in range(8)])
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
        return _texts(_round(values, PLAIN[measure.kind], _POWERS[PLAIN[measure.kind]]))
    if not isinstance(codes, int):
        codes = codes[items]
    factors, decimals = _FACTORS[codes], _DECIMALS[codes]
    scales = _POWERS[decimals]
    if _RECIPROCAL[codes].any():
        figures = np.where(_RECIPROCAL[codes], factors / values, values / factors)
    else:
        figures = values / factors
    if measure.up or measure.down:
        slack = slack_of(measure.kind, figures, factors)
        if measure.up:
            figures = np.ceil((figures - slack) * scales) / scales
        else:
            figures = np.floor((figures + slack) * scales) / scales
    else:
        figures = _round(figures, decimals, scales)
    texts = _texts(figures + 0.0)
    if isinstance(codes, int):
        end = _ENDS[codes]
        return [b'{"value":' + text + end for text in texts]
    ends = map(_ENDS.__getitem__, codes.tolist())
    return [b'{"value":' + text + end for text, end in zip(texts, ends, strict=True)]


def _write_one(measure: Measure, symbol: str) -> bytes:
    (figure,) = render([measure], {measure.kind: symbol})
    return _encode(figure)


def _round(figures: Column, decimals: Any, scales: Any) -> Column:
    """Round each figure as `round` does, which looks at its exact decimal value."""
    steps = figures * scales
    rounded: Column = np.rint(steps)
    # Near the middle between two figures, and where there are more steps than digits.
    doubtful = np.abs(np.abs(steps - rounded) - 0.5) < _DOUBT
    if steps.size and (np.abs(steps).max() > _MOST_STEPS or doubtful.any()):
        doubtful |= np.abs(steps) > _MOST_STEPS
        rounded /= scales
        places = np.broadcast_to(decimals, steps.shape)
        for at in np.flatnonzero(doubtful).tolist():
            rounded[at] = round(float(figures[at]), int(places[at]))
        return rounded
    rounded /= scales
    return rounded


def _texts(figures: Column) -> list[bytes]:
    if not np.isfinite(figures).all():
        raise NotFiniteError
    return _encode(figures.tolist())[1:-1].split(b",") if figures.size else []
