"""Holds what a rule says of columns against what it says of single items, in every request.

A rule's `check` is what it means. Where its `check_many` says something else of one of a few items,
nothing that it says of the others can be trusted.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from drawmark.deadline import deadline
from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Fitting
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.column_trees import item_of
from drawmark.rules.guard import guard
from drawmark.rules.model import Said
from drawmark.rules.rule_call import NOTHING, call_rules, case_of
from drawmark.rules.rule_set import Group
from drawmark.rules.watch import Key

CONTRADICTION: Final = (
    "contradicts itself: of an item of this batch its check_many says something else than its check"
)
ITEMS_FOR_EACH: Final = 250
"""Items of a request for each that is looked at: more would cost over 5 % of a batch."""
FEWEST_ITEMS: Final = 3
"""Items of the first column of a request that are looked at."""
_CLOSE: Final = 1e-12
_ASKED: Final = "items of which a rule was asked in columns"
_FOUND: Final = "contradictions of a rule"


class SpotCheck:
    """A few items of a column, spread over it; the same ones for the same request.

    The first column of which a request asks a rule has `fewest`, and further ones come by the
    number of items. A rule that has contradicted itself once has no answer in the rest of the
    request.
    """

    def __init__(
        self,
        fitting: Fitting,
        facts: Facts,
        local: Mapping[str, object],
        size: int,
        items_for_each: int,
        fewest: int,
    ) -> None:
        self._columns, self._local, self._size = (fitting, facts), local, size
        self._items_for_each, self._fewest = items_for_each, fewest
        self._items: dict[int, tuple[Fitting, Facts]] = {}

    def contradictions(
        self, group: Group, said: Sequence[tuple[BoundRule, Sequence[Said]]]
    ) -> set[Key]:
        """Find the rules of a plugin that say other things in columns than of single items."""
        rules, notes = [bound for bound, _ in said], deadline.notes()
        known = {bound.key for bound in rules if (_FOUND, bound.key) in notes}
        found = set[Key]()
        for place in self._places(rules, notes):
            fitting, facts = self._item(place)
            inputs = self._local.get(group.plugin)
            local = NOTHING if inputs is None else {group.plugin: item_of(inputs, place)}
            case = case_of(fitting, facts, group, local)
            alone = call_rules(rules, case, trusted=False, again=True)
            for (bound, columns), there in zip(said, alone, strict=True):
                here = [one for column in columns if (one := item_of(column, place)).when]
                if here != there and not alike(here, there):
                    found.add(bound.key)
        for key in found - known:
            notes[_FOUND, key] = 1
            guard.notify(key, None, "contradicts")
        return found | known

    def _item(self, place: int) -> tuple[Fitting, Facts]:
        if place not in self._items:
            self._items[place] = item_of(self._columns, place)
        return self._items[place]

    def _places(self, rules: Sequence[BoundRule], notes: dict[Any, int]) -> list[int]:
        number = 0
        for bound in rules:
            before = notes.get((_ASKED, bound.key), 0)
            after = notes[_ASKED, bound.key] = before + self._size
            each = self._items_for_each
            first = self._fewest if before == 0 else 0
            number = max(number, after // each - before // each + first)
        number, last = min(number, self._size), self._size - 1
        if number == 1:
            return [self._size // 2]
        # The ends are among them: a list is often sent in order of length.
        return [at * last // (number - 1) for at in range(number)]


def alike(first: Any, second: Any) -> bool:
    """Tell whether two things said are the same, figures but for rounding."""
    if type(first) is float and type(second) is float:
        return abs(first - second) <= _CLOSE * max(abs(first), abs(second))
    if type(first) is not type(second):
        return False
    if isinstance(first, (list, tuple)):
        return len(first) == len(second) and all(map(alike, first, second))
    names = getattr(first, "__struct_fields__", None)
    if names is None:
        return bool(first == second)
    return all(alike(getattr(first, name), getattr(second, name)) for name in names)
