"""The items of a batch in columns: figures in SI, words, and which fields are given."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import compress
from typing import Any, Final

import numpy as np
from msgspec.structs import astuple
from numpy.typing import NDArray

from drawmark.deadline import deadline
from drawmark.fitting import field_kinds
from drawmark.fitting.columns import Column, Mask, Whole
from drawmark.fitting.fields import declared
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules.mixed_fields import LIMITS, WORDS, Mixed
from drawmark.web.batch.unit_codes import CODES, Codes, UnitChoice, scales_of
from drawmark.web.wire.checker import attribute_of
from drawmark.web.wire.conversion import Inputs

Path = tuple[str, ...]

_ALL: Final = slice(None)
_LARGEST_KEY: Final = 2**62


class Columns:
    """Accepted items of a batch, each to become the dataclass `request`, in columns."""

    def __init__(self, structs: list[Any], request: type, inputs: Inputs) -> None:
        self.size = len(structs)
        self.excluded: Mask = np.zeros(self.size, dtype=np.bool_)
        """Items that cannot be put in columns."""
        self.out_of_range: Mask = np.zeros(self.size, dtype=np.bool_)
        """Those of them that have a figure out of its range."""
        self.units = UnitChoice()
        self._inputs = dict(inputs)
        self._figures: dict[Path, NDArray[Any]] = {}
        self._words: dict[Path, Any] = {}
        self._given: dict[Path, Mask | bool] = {}
        self._lengths: dict[Path, NDArray[Any]] = {}
        self._differences: list[tuple[NDArray[Any], int]] = []
        members = _members_of(structs)
        self._add_part(request, members, (), _ALL)
        self._add_words(members["ruleset"], ("ruleset",), _ALL)
        self._add_local(members["local"])
        self._add_asked_units(members["report_in"])

    def groups(self) -> list[Whole]:
        """Part the items into groups alike in which fields they have, and in most words."""
        key, span = np.zeros(self.size, dtype=np.int64), 1
        for codes, count in self._differences:
            if span * count > _LARGEST_KEY:
                key = np.unique(key, return_inverse=True)[1].astype(np.int64)
                span = int(key.max()) + 1
            key, span = key * count + codes, span * count
        items = np.flatnonzero(~self.excluded)
        ordered = items[np.argsort(key[items], kind="stable")]
        if not ordered.size:
            return []
        return np.split(ordered, np.flatnonzero(np.diff(key[ordered])) + 1)

    def instance(self, cls: type, items: Whole, path: Path = ()) -> Any:
        """Build one instance of alike items, with columns as leaves."""
        values = {}
        for name, spec, default in declared(cls):
            inner = (*path, name)
            if inner in self._words:
                values[name] = self._word_or_column(inner, items)
            elif inner in LIMITS:
                values[name] = self._limit(inner, items)
            elif not self._is_given(inner, items):
                values[name] = default
            elif spec.is_list:
                count = range(int(self._lengths[inner][items[0]]))
                values[name] = tuple([self._value(spec, items, (*inner, str(at))) for at in count])
            else:
                values[name] = self._value(spec, items, inner)
        return cls(**values)

    def _value(self, spec: field_kinds.Spec, items: Whole, path: Path) -> Any:
        if isinstance(spec, field_kinds.Part):
            return self.instance(spec.cls, items, path)
        return self._figures[path][items]

    def local(self, items: Whole) -> dict[str, object]:
        """Build the inputs of local rules of alike items, by plugin."""
        return {
            plugin: self.instance(cls, items, ("local", plugin))
            for plugin, cls in self._inputs.items()
            if self._is_given(("local", plugin), items)
        }

    def word(self, path: Path, items: Whole) -> Any:
        """Give the word that alike items have in a field."""
        words = self._words[path]
        return words[items[0]] if isinstance(words, np.ndarray) else words

    def _word_or_column(self, path: Path, items: Whole) -> Any:
        words = self._words[path]
        if path not in WORDS or not isinstance(words, np.ndarray):
            return self.word(path, items)
        first, column = words[items[0]], words[items]
        if (column == first).all():
            return first
        return (column.astype(np.bool_) if isinstance(first, bool) else column).view(Mixed)

    def _limit(self, path: Path, items: Whole) -> Any:
        given = self._given.get(path, False)
        if isinstance(given, np.ndarray):
            given = given[items]
            if not given.all():
                limit = np.where(given, self._figures[path][items], np.inf)
                return limit.view(Mixed) if given.any() else None
        return self._figures[path][items] if given is not False else None

    def _is_given(self, path: Path, items: Whole) -> bool:
        given = self._given.get(path, False)
        return bool(given[items[0]]) if isinstance(given, np.ndarray) else given

    def _add_part(
        self, cls: type, members: dict[str, Sequence[Any]], path: Path, places: Any
    ) -> None:
        for name, spec, _ in declared(cls):
            self._add_field(spec, members[name], (*path, name), places)

    def _add_field(
        self, spec: field_kinds.Spec, found: Sequence[Any], path: Path, places: Any
    ) -> None:
        if isinstance(spec, field_kinds.Word) and not spec.is_list:
            self._add_words(found, path, places)
            return
        found, places = self._note_given(found, path, places)
        if not found:
            return
        if spec.is_list:
            self._add_list(spec, found, path, places)
        else:
            self._add_values(spec, found, path, places)

    def _add_list(
        self, spec: field_kinds.Spec, found: Sequence[Any], path: Path, places: Any
    ) -> None:
        if not isinstance(spec, field_kinds.Part | field_kinds.Quantity):
            self.excluded[places] = True
            return
        lengths = np.array([len(one) for one in found])
        most = int(lengths.max())
        self._lengths[path] = self._spread(lengths, places)
        self._differences.append((self._lengths[path], most + 1))
        for at in range(most):
            longer, where = found, places
            if lengths.min() <= at:
                longer = [one for one in found if len(one) > at]
                where = np.arange(self.size)[places][lengths > at]
            self._add_values(spec, [one[at] for one in longer], (*path, str(at)), where)

    def _add_values(
        self, spec: field_kinds.Spec, found: Sequence[Any], path: Path, places: Any
    ) -> None:
        if isinstance(spec, field_kinds.Part):
            self._add_part(spec.cls, _members_of(found), path, places)
        elif isinstance(spec, field_kinds.Quantity):
            self._add_quantities(spec, found, path, places)
        else:
            dtype = np.int64 if isinstance(spec, field_kinds.Whole) else np.float64
            self._figures[path] = self._spread(np.array(found, dtype=dtype), places)

    def _add_quantities(
        self, spec: field_kinds.Quantity, found: Sequence[Any], path: Path, places: Any
    ) -> None:
        deadline.check()
        values: Column = np.array([one.value for one in found], dtype=np.float64)
        symbols = [one.unit for one in found]
        codes: Codes | int = CODES[symbols[0]]
        if symbols.count(symbols[0]) < len(symbols):
            codes = np.array([CODES[symbol] for symbol in symbols], dtype=np.intp)
        low, high, factor, reciprocal = (column[codes] for column in scales_of(spec))
        fits = (low <= values) & (values <= high)
        if not fits.all():
            self.excluded[places] |= ~fits
            self.out_of_range[places] |= ~fits
            values = np.where(fits, values, low)
        figures = values * factor
        if reciprocal.any():
            figures = np.where(reciprocal, factor / values, figures)
        self._figures[path] = self._spread(figures, places)
        if places is not _ALL:
            codes = self._spread(np.broadcast_to(np.asarray(codes), values.shape), places)
        # Of a list its first item tells the unit.
        way = tuple([step for step in path if step != "0"])
        if not any(map(str.isdigit, way)):
            self.units.note(spec.dimension, way, codes)

    def _add_words(self, found: Sequence[Any], path: Path, places: Any) -> None:
        kinds = {word: number for number, word in enumerate(dict.fromkeys(found), 1)}
        if places is _ALL and len(kinds) == 1:
            self._words[path] = found[0]
            return
        if path not in WORDS:
            codes = np.array([kinds[word] for word in found], dtype=np.intp)
            self._differences.append((self._spread(codes, places), len(kinds) + 1))
        words = np.empty(self.size, dtype=np.object_)
        words[places] = found
        self._words[path] = words

    def _add_local(self, found: Sequence[Any]) -> None:
        found, places = self._note_given(found, ("local",), _ALL)
        members = _members_of(found) if found else {}
        for plugin, cls in self._inputs.items() if found else ():
            path = ("local", plugin)
            own, own_places = self._note_given(members[attribute_of(plugin)], path, places)
            if own and hasattr(cls, "__post_init__"):
                # What it does to one instance it may not do to a column.
                self.excluded[own_places] = True
            elif own:
                self._add_part(cls, _members_of(own), path, own_places)

    def _add_asked_units(self, found: Sequence[Any]) -> None:
        for name in DIMENSIONS if any(found) else ():
            asked = [getattr(one, name, None) for one in found]
            self.units.ask(name, np.array([CODES[unit] for unit in asked], dtype=np.intp))

    def _note_given(
        self, found: Sequence[Any], path: Path, places: Any
    ) -> tuple[Sequence[Any], Any]:
        """Note where a field is given, and keep the given values with their places."""
        # What is given is true, but for the figure 0; a look for None would compare all with it.
        if not any(found) and found.count(None) == len(found):
            return (), places
        if all(found) or None not in found:
            self._given[path] = True if places is _ALL else self._mask(places)
            return found, places
        given = [one is not None for one in found]
        places = np.arange(self.size)[places][np.frombuffer(bytes(given), dtype=np.bool_)]
        mask = self._mask(places)
        self._given[path] = mask
        if path not in LIMITS:
            self._differences.append((mask, 2))
        return list(compress(found, given)), places

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


def _members_of(structs: Sequence[Any]) -> dict[str, Sequence[Any]]:
    """Give the values of each member of structs of one type."""
    names = structs[0].__struct_fields__
    values: list[Any] = []
    for struct in structs:
        values += astuple(struct)
    return {name: values[place :: len(names)] for place, name in enumerate(names)}
