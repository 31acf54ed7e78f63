"""The items of a batch laid out in columns: figures in SI, words, and what is given."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from functools import cache
from operator import attrgetter
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from drawmark.fitting.columns import Column, Mask, Whole
from drawmark.fitting.fields import Spec, specs_of
from drawmark.fitting.units import DIMENSIONS, UNITS
from drawmark.web.checker import attribute_of, quantity_type
from drawmark.web.convert import LEADING, Inputs
from drawmark.web.fields import ranges_of
from drawmark.web.render import DEFAULT_UNITS

Way = tuple[str, ...]
Codes = NDArray[np.intp]

# Units by number: 0 stands for none.
SYMBOLS: Final = ("", *UNITS)
_CODES: Final[dict[str | None, int]] = {
    None: 0,
    **{symbol: code for code, symbol in enumerate(SYMBOLS)},
}
_LARGEST_KEY: Final = 2**62
_value_of, _unit_of = attrgetter("value"), attrgetter("unit")


class Sheet:
    """Items of a batch in columns.

    Parameters
    ----------
    structs : sequence
        Accepted items.
    request : type
        Dataclass of what each of them becomes.
    inputs : tuple
        Plugins' names and the dataclasses of their inputs.
    """

    def __init__(self, structs: Sequence[Any], request: type, inputs: Inputs) -> None:
        self.size = len(structs)
        self.inputs = dict(inputs)
        self.apart: Mask = np.zeros(self.size, dtype=np.bool_)
        """Items that do not go in columns."""
        self._figures: dict[Way, Column] = {}
        self._words: dict[Way, Any] = {}
        self._given: dict[Way, Mask | bool] = {}
        self._units: dict[str, list[tuple[Way, Codes | int]]] = {}
        self._asked: dict[str, Codes] = {}
        self._differences: list[tuple[NDArray[Any], int]] = []
        # Absent figures are laid out as no numbers, and divided like others.
        with np.errstate(all="ignore"):
            self._lay_part(request, structs, ())
            self._lay_word(list(map(attrgetter("ruleset"), structs)), ("ruleset",))
            self._lay_local(list(map(attrgetter("local"), structs)))
            self._lay_asked_units(list(map(attrgetter("report_in"), structs)))

    def groups(self) -> list[Whole]:
        """Part the items into groups alike in which fields they have, and in every word."""
        key, span = np.zeros(self.size, dtype=np.int64), 1
        for codes, count in self._differences:
            if span * count > _LARGEST_KEY:
                key = np.unique(key, return_inverse=True)[1].astype(np.int64)
                span = int(key.max()) + 1
            key, span = key * count + codes, span * count
        items = np.flatnonzero(~self.apart)
        ordered = items[np.argsort(key[items], kind="stable")]
        if not ordered.size:
            return []
        return np.split(ordered, np.flatnonzero(np.diff(key[ordered])) + 1)

    def instance(self, cls: type, items: Whole, way: Way = ()) -> Any:
        """Build what alike items become, with columns as leaves."""
        values = {}
        for name, spec, default in _declared(cls):
            place = (*way, name)
            if place in self._words:
                values[name] = self.word(place, items)
            elif not self._is_given(place, items):
                values[name] = default
            elif spec.part is not None:
                values[name] = self.instance(spec.part, items, place)
            else:
                values[name] = self._figures[place][items]
        return cls(**values)

    def local(self, items: Whole) -> dict[str, object]:
        """Build the inputs of local rules of alike items, by plugin."""
        return {
            plugin: self.instance(cls, items, ("local", plugin))
            for plugin, cls in self.inputs.items()
            if self._is_given(("local", plugin), items)
        }

    def word(self, way: Way, items: Whole) -> Any:
        """Give the word that alike items have at a place."""
        words = self._words[way]
        return words[items[0]] if type(words) is list else words

    def units(self, dimension: str, items: Whole) -> Codes | int:
        """Give the units in which items are answered: one for all, or one for each."""
        chosen = self._units_of(dimension)
        if isinstance(chosen, int):
            return chosen
        codes = chosen[items]
        return int(codes[0]) if (codes == codes[0]).all() else codes

    def _is_given(self, way: Way, items: Whole) -> bool:
        given = self._given.get(way, False)
        return bool(given[items[0]]) if isinstance(given, np.ndarray) else given

    def _lay_part(self, cls: type, structs: Sequence[Any], way: Way) -> None:
        for name, spec, _ in _declared(cls):
            found = list(map(attrgetter(name), structs))
            self._lay_field(spec, found, (*way, name))

    def _lay_field(self, spec: Spec, found: list[Any], way: Way) -> None:
        if spec.is_list:
            self._set_apart(found)
        elif spec.part is not None:
            if any(found):
                self._lay_part(spec.part, self._fill(found, way, _nothing_like(found)), way)
        elif spec.kind == "quantity":
            if any(found):
                self._lay_quantity(spec, self._fill(found, way, _NO_QUANTITY), way)
        elif spec.kind in ("number", "whole"):
            if found.count(None) < self.size:
                filled = self._fill(found, way, np.nan)
                self._figures[way] = np.array(filled, dtype=np.float64)
        else:
            self._lay_word(found, way)

    def _lay_quantity(self, spec: Spec, found: list[Any], way: Way) -> None:
        values = np.array(list(map(_value_of, found)), dtype=np.float64)
        symbols = list(map(_unit_of, found))
        codes: Codes | int
        if symbols.count(symbols[0]) == self.size:
            codes = _CODES[symbols[0]]
        else:
            codes = np.array(list(map(_CODES.__getitem__, symbols)), dtype=np.intp)
        low, high, factor, reciprocal = (column[codes] for column in _scales(spec))
        # No number is out of range too, and some are where the field is not given.
        fits = (low <= values) & (values <= high)
        if not fits.all():
            self.apart |= ~fits & (np.asarray(codes) != 0)
        self._figures[way] = np.where(reciprocal, factor / values, values * factor)
        self._units.setdefault(str(spec.dimension), []).append((way, codes))

    def _lay_word(self, found: list[Any], way: Way) -> None:
        kinds = dict.fromkeys(found)
        self._words[way] = found if len(kinds) > 1 else found[0]
        if len(kinds) > 1:
            numbers = {word: number for number, word in enumerate(kinds)}
            codes = np.array(list(map(numbers.__getitem__, found)), dtype=np.intp)
            self._differences.append((codes, len(kinds)))

    def _lay_local(self, found: list[Any]) -> None:
        if not any(found):
            return
        for plugin, cls in self.inputs.items():
            name = attribute_of(plugin)
            own = [None if one is None else getattr(one, name) for one in found]
            if not any(own):
                continue
            if hasattr(cls, "__post_init__"):
                # What it does to one instance it may not do to a column.
                self._set_apart(own)
                continue
            way = ("local", plugin)
            self._lay_part(cls, self._fill(own, way, _nothing_like(own)), way)

    def _lay_asked_units(self, found: list[Any]) -> None:
        if not any(found):
            return
        for name in DIMENSIONS:
            asked = [getattr(one, name, None) for one in found]
            if any(asked):
                self._asked[name] = np.array([_CODES[unit] for unit in asked], dtype=np.intp)

    def _set_apart(self, found: list[Any]) -> None:
        if any(found):
            self.apart |= np.array([one is not None for one in found])

    def _fill(self, found: list[Any], way: Way, nothing: Any) -> list[Any]:
        """Note where a field is given, and put something in its place where it is not."""
        given = np.array([one is not None for one in found])
        if given.all():
            self._given[way] = True
            return found
        self._given[way] = given
        self._differences.append((given, 2))
        return [nothing if one is None else one for one in found]

    def _units_of(self, dimension: str) -> Codes | int:
        """Give the unit of each item: the one asked for, else that of its leading fields."""
        chosen: Codes | int = 0
        for codes in self._candidates(dimension):
            filled = np.where(np.asarray(chosen) == 0, codes, chosen)
            chosen = filled if filled.ndim else int(filled)
            if filled.all():
                break
        return chosen

    def _candidates(self, dimension: str) -> Iterator[Codes | int]:
        used = self._units.get(dimension, [])
        if dimension in self._asked:
            yield self._asked[dimension]
        for leading in LEADING.get(dimension, ()):
            yield from (codes for way, codes in used if way == leading)
        yield from (codes for _, codes in used)
        yield _CODES[DEFAULT_UNITS[dimension]]


@cache
def _declared(cls: type) -> tuple[tuple[str, Spec, Any], ...]:
    specs = specs_of(cls)
    fields = dataclasses.fields(cls)
    return tuple((field.name, specs[field.name], field.default) for field in fields)


@cache
def _scales(spec: Spec) -> tuple[Column, Column, Column, Mask]:
    """Range, factor and sense of each unit, by its number; no number where it does not fit."""
    size = len(SYMBOLS)
    low, high, factor = (np.full(size, np.nan) for _ in range(3))
    reciprocal = np.zeros(size, dtype=np.bool_)
    for symbol, (least, most) in ranges_of(spec).items():
        code = _CODES[symbol]
        low[code], high[code] = least, most
        factor[code], reciprocal[code] = UNITS[symbol].factor, UNITS[symbol].reciprocal
    return low, high, factor, reciprocal


_NO_QUANTITY: Final = quantity_type("length")(value=np.nan, unit="")


def _nothing_like(found: Sequence[Any]) -> Any:
    """Make a part in which nothing is given."""
    cls = type(next(filter(None, found)))
    return cls(**dict.fromkeys(cls.__struct_fields__))
