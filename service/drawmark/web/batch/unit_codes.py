"""Units as numbers, for columns of figures in several units, and which of them answers are in."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from drawmark.fitting.columns import Column, Mask, Whole
from drawmark.fitting.field_kinds import Quantity
from drawmark.fitting.units import UNITS
from drawmark.web.wire.conversion import LEADING
from drawmark.web.wire.quantity_field import ranges_of
from drawmark.web.wire.render import DEFAULT_UNITS

Codes = NDArray[np.intp]

# 0 stands for no unit.
SYMBOLS: Final = ("", *UNITS)
CODES: Final[dict[str | None, int]] = {
    None: 0,
    **{symbol: code for code, symbol in enumerate(SYMBOLS)},
}


@cache
def scales_of(spec: Quantity) -> tuple[Column, Column, Column, Mask]:
    """Give least, greatest, factor and sense of each unit of a field, by its code."""
    size = len(SYMBOLS)
    low, high, factor = (np.full(size, np.nan) for _ in range(3))
    reciprocal = np.zeros(size, dtype=np.bool_)
    for symbol, (least, most) in ranges_of(spec).items():
        code = CODES[symbol]
        low[code], high[code] = least, most
        factor[code], reciprocal[code] = UNITS[symbol].factor, UNITS[symbol].reciprocal
    return low, high, factor, reciprocal


class UnitChoice:
    """The units in which each item of a batch is answered: as for a single request."""

    def __init__(self) -> None:
        self._used: dict[str, list[tuple[tuple[str, ...], Codes | int]]] = {}
        self._asked: dict[str, Codes] = {}
        self._chosen: dict[str, Codes | int] = {}

    def note(self, dimension: str, way: tuple[str, ...], codes: Codes | int) -> None:
        """Note the units of a field: one for all items, or one for each, 0 where not given."""
        self._used.setdefault(dimension, []).append((way, codes))

    def ask(self, dimension: str, codes: Codes) -> None:
        """Note the units that items ask for, 0 where they do not."""
        self._asked[dimension] = codes

    def of(self, dimension: str, items: Whole) -> Codes | int:
        """Give the unit of some items: one for all of them, or one for each."""
        if dimension not in self._chosen:
            self._chosen[dimension] = self._choose(dimension)
        chosen = self._chosen[dimension]
        if isinstance(chosen, int):
            return chosen
        codes = chosen[items]
        return int(codes[0]) if (codes == codes[0]).all() else codes

    def _choose(self, dimension: str) -> Codes | int:
        chosen = np.zeros((), dtype=np.intp)
        for codes in self._candidates(dimension):
            chosen = np.where(chosen == 0, codes, chosen)
            if chosen.all():
                break
        return chosen if chosen.ndim else int(chosen)

    def _candidates(self, dimension: str) -> Iterator[Codes | int]:
        used = self._used.get(dimension, [])
        if dimension in self._asked:
            yield self._asked[dimension]
        for leading in LEADING.get(dimension, ()):
            yield from (codes for way, codes in used if ".".join(way) == leading)
        yield from (codes for _, codes in used)
        yield CODES[DEFAULT_UNITS[dimension]]
