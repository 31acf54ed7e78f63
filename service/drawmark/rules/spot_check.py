"""Holds what a rule says of columns against what it says of single items, in every batch.

A rule's `check` is what it means. Where its `check_many` says something else of one of a few items,
nothing that it says of the others can be trusted.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

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
_CLOSE: Final = 1e-12
_ITEMS_FOR_EACH: Final = 250
"""Items of a batch for each that is looked at: more would cost over 5 % of it."""


class SpotCheck:
    """A few items of a batch, spread over it; the same ones for the same batch."""

    def __init__(
        self, fitting: Fitting, facts: Facts, local: Mapping[str, object], size: int
    ) -> None:
        number = 1 + size // _ITEMS_FOR_EACH
        self._places = [(at * 2 + 1) * size // (2 * number) for at in range(number)]
        self._items = [item_of((fitting, facts), place) for place in self._places]
        self._local = local

    def contradictions(
        self, group: Group, said: Sequence[tuple[BoundRule, Sequence[Said]]]
    ) -> set[Key]:
        """Find the rules of a plugin that say other things in columns than of single items."""
        found = set[Key]()
        rules = [bound for bound, _ in said]
        for place, (fitting, facts) in zip(self._places, self._items, strict=True):
            inputs = self._local.get(group.plugin)
            local = NOTHING if inputs is None else {group.plugin: item_of(inputs, place)}
            case = case_of(fitting, facts, group, local)
            alone = call_rules(rules, case, trusted=False, again=True)
            for (bound, columns), there in zip(said, alone, strict=True):
                here = [one for column in columns if (one := item_of(column, place)).when]
                if here != there and not alike(here, there):
                    found.add(bound.key)
        for key in found:
            guard.notify(key, None, "contradicts")
        return found


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
