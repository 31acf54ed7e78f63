"""Columns of measures as JSON, to the digit as single measures are written."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import msgspec
import numpy as np

from drawmark.fitting.columns import Column, Whole
from drawmark.fitting.limits import TOLERANCE
from drawmark.fitting.units import UNITS
from drawmark.rules.model import Measure
from drawmark.web.batch.unitcodes import SYMBOLS, Codes
from drawmark.web.render import PLAIN, NotFiniteError

Units = Callable[[str], Codes | int]
_encode: Final = msgspec.json.Encoder().encode
_KNOWN: Final = [UNITS[symbol] for symbol in SYMBOLS[1:]]
_FACTORS: Final = np.array([np.nan, *(unit.factor for unit in _KNOWN)])
_RECIPROCAL: Final = np.array([False, *(unit.reciprocal for unit in _KNOWN)])
_DECIMALS: Final = np.array([0, *(unit.decimals for unit in _KNOWN)])
_POWERS: Final = np.array([float(10**decimals) for decimals in range(8)])
_ENDS: Final = [b',"unit":' + _encode(symbol) + b"}" for symbol in SYMBOLS]
# So near to the middle between two figures the last digit may hang on how it is worked out.
_DOUBT: Final = 1e-6
_MOST_STEPS: Final = 1e9


def write_measures(measure: Measure, items: Whole, size: int, units: Units) -> list[bytes]:
    """Write a measure of some items.

    Parameters
    ----------
    measure : Measure
        With a column, or one figure for all [SI].
    items : column of int
        Which items.
    size : int
        Length of the column.
    units : callable
        Gives, for a dimension, the unit of all items or of each.

    Returns
    -------
    list of bytes
        A figure with its unit for each of the items.

    Raises
    ------
    NotFiniteError
        If a figure is not finite.
    """
    values = np.broadcast_to(np.asarray(measure.value, dtype=np.float64), (size,))[items]
    if not np.isfinite(values).all():
        raise NotFiniteError
    plain = PLAIN.get(measure.kind)
    if plain is not None:
        return _texts(_round(values, np.full(values.shape, plain)))
    codes = units(measure.kind)
    if not isinstance(codes, int):
        codes = codes[items]
    factors = _FACTORS[codes]
    if _RECIPROCAL[codes].any():
        figures = np.where(_RECIPROCAL[codes], factors / values, values / factors)
    else:
        figures = values / factors
    decimals = np.broadcast_to(_DECIMALS[codes], values.shape)
    if measure.up or measure.down:
        slack = TOLERANCE / factors if measure.kind == "length" else np.abs(figures) * 1e-9
        scales = _POWERS[decimals]
        whole = (
            np.ceil((figures - slack) * scales)
            if measure.up
            else np.floor((figures + slack) * scales)
        )
        texts = _texts(whole / scales + 0.0)
    else:
        texts = _texts(_round(figures, decimals) + 0.0)
    if isinstance(codes, int):
        end = _ENDS[codes]
        return [b'{"value":' + text + end for text in texts]
    ends = map(_ENDS.__getitem__, codes.tolist())
    return [b'{"value":' + text + end for text, end in zip(texts, ends, strict=True)]


def _round(figures: Column, decimals: Whole) -> Column:
    """Round each figure as `round` does, which looks at its exact decimal value."""
    scales = _POWERS[decimals]
    steps = figures * scales
    rounded: Column = np.rint(steps) / scales
    doubtful = (np.abs(np.abs(steps - np.floor(steps)) - 0.5) < _DOUBT) | (
        np.abs(steps) > _MOST_STEPS
    )
    for at in np.flatnonzero(doubtful).tolist():
        rounded[at] = round(float(figures[at]), int(decimals[at]))
    return rounded


def _texts(figures: Column) -> list[bytes]:
    if not np.isfinite(figures).all():
        raise NotFiniteError
    return _encode(figures.tolist())[1:-1].split(b",") if figures.size else []
