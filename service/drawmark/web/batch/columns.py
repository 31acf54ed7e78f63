"""The items of a batch laid out in columns: figures in SI, words, and what is given."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from drawmark.fitting.columns import Column, Mask, Whole
from drawmark.fitting.fields import Figure, Part, Plain, Quantity, Spec, specs_of
from drawmark.fitting.units import DIMENSIONS
from drawmark.web.batch.unit_codes import CODES, Codes, UnitChoice, scales_of
from drawmark.web.wire.checker import attribute_of
from drawmark.web.wire.conversion import Inputs

Way = tuple[str, ...]

_ALL: Final = slice(None)
_LARGEST_KEY: Final = 2**62


class Sheet:
    """Items of a batch in columns.

    Parameters
    ----------
    structs : list
        Accepted items.
    request : type
        Dataclass of what each of them becomes.
    inputs : tuple
        Plugins' names and the dataclasses of their inputs.
    """

    def __init__(self, structs: list[Any], request: type, inputs: Inputs) -> None:
        self.size = len(structs)
        self.apart: Mask = np.zeros(self.size, dtype=np.bool_)
        """Items that do not go in columns."""
        self.out_of_range: Mask = np.zeros(self.size, dtype=np.bool_)
        """Those of them that have a figure out of its range."""
        self.units = UnitChoice(self.size)
        self._inputs = dict(inputs)
        self._figures: dict[Way, Column] = {}
        self._words: dict[Way, Any] = {}
        self._given: dict[Way, Mask | bool] = {}
        self._differences: list[tuple[NDArray[Any], int]] = []
        self._lay_part(request, structs, (), _ALL)
        self._lay_word([one.ruleset for one in structs], ("ruleset",), _ALL)
        self._lay_local([one.local for one in structs])
        self._lay_asked_units([one.report_in for one in structs])

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
            elif isinstance(spec, Part):
                values[name] = self.instance(spec.cls, items, place)
            else:
                values[name] = self._figures[place][items]
        return cls(**values)

    def local(self, items: Whole) -> dict[str, object]:
        """Build the inputs of local rules of alike items, by plugin."""
        return {
            plugin: self.instance(cls, items, ("local", plugin))
            for plugin, cls in self._inputs.items()
            if self._is_given(("local", plugin), items)
        }

    def word(self, way: Way, items: Whole) -> Any:
        """Give the word that alike items have at a place."""
        words = self._words[way]
        return words[items[0]] if isinstance(words, np.ndarray) else words

    def _is_given(self, way: Way, items: Whole) -> bool:
        given = self._given.get(way, False)
        return bool(given[items[0]]) if isinstance(given, np.ndarray) else given

    def _lay_part(self, cls: type, structs: list[Any], way: Way, places: Any) -> None:
        columns = _reader_of(tuple(name for name, _, _ in _declared(cls)))(structs)
        for (name, spec, _), found in zip(_declared(cls), columns, strict=True):
            self._lay_field(spec, found, (*way, name), places)

    def _lay_field(self, spec: Spec, found: list[Any], way: Way, places: Any) -> None:
        if isinstance(spec, Plain) and not isinstance(spec, Figure) and not spec.is_list:
            self._lay_word(found, way, places)
            return
        found, places = self._note_given(found, way, places)
        if not found:
            return
        if spec.is_list:
            self.apart[places] = True
        elif isinstance(spec, Part):
            self._lay_part(spec.cls, found, way, places)
        elif isinstance(spec, Quantity):
            self._lay_quantity(spec, found, way, places)
        else:
            self._figures[way] = self._spread(np.array(found, dtype=np.float64), places)

    def _lay_quantity(self, spec: Quantity, found: list[Any], way: Way, places: Any) -> None:
        values = np.array([one.value for one in found], dtype=np.float64)
        symbols = [one.unit for one in found]
        codes: Codes | int = CODES[symbols[0]]
        if symbols.count(symbols[0]) < len(symbols):
            codes = np.array([CODES[symbol] for symbol in symbols], dtype=np.intp)
        low, high, factor, reciprocal = (column[codes] for column in scales_of(spec))
        fits = (low <= values) & (values <= high)
        if not fits.all():
            self.apart[places] |= ~fits
            self.out_of_range[places] |= ~fits
            values = np.where(fits, values, low)
        figures = values * factor
        if reciprocal.any():
            figures = np.where(reciprocal, factor / values, figures)
        self._figures[way] = self._spread(figures, places)
        if places is not _ALL:
            codes = self._spread(np.broadcast_to(np.asarray(codes), values.shape), places)
        self.units.note(spec.dimension, way, codes)

    def _lay_word(self, found: list[Any], way: Way, places: Any) -> None:
        kinds = {word: number for number, word in enumerate(dict.fromkeys(found), 1)}
        if places is _ALL and len(kinds) == 1:
            self._words[way] = found[0]
            return
        codes = np.array([kinds[word] for word in found], dtype=np.intp)
        self._differences.append((self._spread(codes, places), len(kinds) + 1))
        words = np.empty(self.size, dtype=np.object_)
        words[places] = found
        self._words[way] = words

    def _lay_local(self, found: list[Any]) -> None:
        found, places = self._note_given(found, ("local",), _ALL)
        for plugin, cls in self._inputs.items() if found else ():
            (own,) = _reader_of((attribute_of(plugin),))(found)
            way = ("local", plugin)
            own, own_places = self._note_given(own, way, places)
            if own and hasattr(cls, "__post_init__"):
                # What it does to one instance it may not do to a column.
                self.apart[own_places] = True
            elif own:
                self._lay_part(cls, own, way, own_places)

    def _lay_asked_units(self, found: list[Any]) -> None:
        for name in DIMENSIONS if any(found) else ():
            asked = [getattr(one, name, None) for one in found]
            self.units.ask(name, np.array([CODES[unit] for unit in asked], dtype=np.intp))

    def _note_given(self, found: list[Any], way: Way, places: Any) -> tuple[list[Any], Any]:
        """Note where a field is given; keep what is given, and the places of that."""
        # What is given is true, but for the figure 0; a look for None would compare all with it.
        if not any(found) and found.count(None) == len(found):
            return [], places
        if all(found) or None not in found:
            self._given[way] = True if places is _ALL else self._mask(places)
            return found, places
        given = np.frombuffer(bytes([one is not None for one in found]), dtype=np.bool_)
        places = np.arange(self.size)[places][given]
        mask = self._mask(places)
        self._given[way] = mask
        self._differences.append((mask, 2))
        return [one for one in found if one is not None], places

    def _mask(self, places: Any) -> Mask:
        mask = np.zeros(self.size, dtype=np.bool_)
        mask[places] = True
        return mask

    def _spread(self, column: NDArray[Any], places: Any) -> NDArray[Any]:
        if places is _ALL:
            return column
        spread = np.zeros(self.size, dtype=column.dtype)
        spread[places] = column
        return spread


@cache
def _declared(cls: type) -> tuple[tuple[str, Spec, Any], ...]:
    specs = specs_of(cls)
    fields = dataclasses.fields(cls)
    return tuple((field.name, specs[field.name], field.default) for field in fields)


@cache
def _reader_of(names: tuple[str, ...]) -> Callable[[Sequence[Any]], tuple[list[Any], ...]]:
    """Make the function that reads attributes of many structs, a list for each."""
    # Straight code is twice as fast as attrgetter.
    lists = "".join(f"[one.{name} for one in structs]," for name in names)
    reader: Callable[[Sequence[Any]], tuple[list[Any], ...]] = eval(f"lambda structs: ({lists})")
    return reader
