"""Every archer with every set of a rack, judged as single fit checks would judge them.

Archers that are alike in which fields they have make one group, and so do sets; the pairs of
two groups are computed in columns, a few thousand at a time so that they stay near the processor.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from drawmark.answers.common.fit_check_columns import ceiling_of
from drawmark.answers.common.minimum import shortest_safe
from drawmark.fitting.columns import Column, Mask, MixedError, Whole
from drawmark.fitting.draw.control import exposed_of
from drawmark.fitting.draw.draw_length import Spread, spread_of
from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.limits import longer, shorter
from drawmark.fitting.mechanics.arrow_facts import ArrowFacts
from drawmark.fitting.mechanics.arrow_validation import has_stations
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.fitting.window import windows_of
from drawmark.rules.column_trees import group_alike, stack_alike, take
from drawmark.rules.evaluate_batch import evaluate_many
from drawmark.rules.model import PRECEDENCE
from drawmark.rules.outcome import NotChecked, Unevaluated
from drawmark.rules.rule_set import RuleSet

TOGETHER: Final = 4096
"""Pairs computed at once: columns of so many stay in the processor's own memory."""
MOST_BLOCKS: Final = 2_000
"""Blocks of pairs that differ in which fields they have: each costs a millisecond or two."""
MOST_ONE_BY_ONE: Final = 40_000
"""Pairs of which a rule without `check_many` is asked one by one."""
_KEPT: Final = 3 * TOGETHER
"""Pairs whose arrows are kept for the next group of archers."""
_ITEMS_FOR_EACH: Final = 2_500
"""Pairs for each whose rules are also asked alone: pairs that are chosen are asked once more."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Shooter:
    """An archer with a bow, and the inputs of local rules that go with them."""

    archer: Archer
    bow: Bow
    local: Mapping[str, object]


@dataclass(frozen=True, kw_only=True, slots=True)
class Pairs:
    """What was found of each archer, a row, with each set, a column.

    Parameters
    ----------
    severity : column of int8
        Verdict, as its place in `VERDICTS`.
    margin : Column
        Length above the minimum that the fit check tells [m].
    in_window : Mask
        Whether the length lies in the recommended window.
    launch_load : Column
        Draw weight over critical launch force; nan where not known.
    determinate : Mask
        False where a floor may be missing.
    not_checked : tuple of NotChecked
        Rules that lacked fields in some pair, each once.
    unevaluated : tuple of Unevaluated
        Rules that could not speak of some pair, each once with one of its reasons.
    """

    severity: NDArray[np.int8]
    margin: Column
    in_window: Mask
    launch_load: Column
    determinate: Mask
    not_checked: tuple[NotChecked, ...]
    unevaluated: tuple[Unevaluated, ...]

    @property
    def safe(self) -> Mask:
        """Tell which pairs are neither stopped nor in doubt."""
        return self.severity < PRECEDENCE["indeterminate"]

    @property
    def passes(self) -> Mask:
        """Tell which pairs pass without a caution."""
        return self.severity <= PRECEDENCE["pass"]


@dataclass(frozen=True, slots=True)
class _Described:
    """The arrow of a set, and what is known of it."""

    arrow: Arrow
    facts: ArrowFacts


class _Block(NamedTuple):
    """Pairs of one group of archers and one of sets, by their places in the groups."""

    shooters: Shooter
    spread: Spread
    sets: _Described
    rows: Whole
    columns: Whole
    shooter_at: Whole
    arrow_at: Whole

    def part(self, chosen: Mask | slice) -> _Block:
        """Give some of the pairs."""
        return self._replace(
            rows=self.rows[chosen],
            columns=self.columns[chosen],
            shooter_at=self.shooter_at[chosen],
            arrow_at=self.arrow_at[chosen],
        )


def judge_pairs(
    shooters: Sequence[Shooter],
    arrows: Sequence[Arrow],
    known: Sequence[ArrowFacts],
    ruleset: RuleSet,
) -> Pairs:
    """Judge every archer with every arrow, of which facts are known."""
    _check_amount(len(shooters) * len(arrows), ruleset)
    found = _Found(len(shooters), len(arrows))
    waiting = list(_blocks(shooters, list(map(_Described, arrows, known))))
    while waiting:
        block = waiting.pop()
        try:
            found.add(block, ruleset)
        except MixedError as mixed:
            waiting += map(block.part, mixed.parts)
    return found.pairs()


def _check_amount(pairs: int, ruleset: RuleSet) -> None:
    single = [bound for bound in ruleset.rules if bound.rule.check_many is None]
    if single and pairs > MOST_ONE_BY_ONE:
        one = single[0]
        raise FittingError(
            Fault(
                path=("archers",),
                detail=f"The rule {one.rule.id} of {one.plugin} is asked about each pair on its "
                f"own. Send at most {MOST_ONE_BY_ONE} pairs of archers and sets.",
            )
        )


def _blocks(shooters: Sequence[Shooter], sets: Sequence[_Described]) -> Iterator[_Block]:
    row_groups, column_groups = group_alike(shooters), group_alike(sets)
    kinds = [sets[places[0]].arrow for places in column_groups]
    if len(row_groups) * sum(1 + has_stations(one) for one in kinds) > MOST_BLOCKS:
        raise FittingError(
            Fault(
                path=("archers",),
                detail=f"{len(row_groups)} archers and {len(column_groups)} sets differ in which "
                "fields they have, or in how many stations. Send fewer of them at once: at most "
                f"{MOST_BLOCKS} such combinations, of which tapered ones count twice.",
            )
        )
    stacked = [(places, stack_alike([sets[at] for at in places])) for places in column_groups]
    for rows in row_groups:
        people = stack_alike([shooters[at] for at in rows])
        spread = spread_of(people.archer, people.bow)
        for columns, kinds in stacked:
            shooter_at = np.repeat(np.arange(len(rows)), len(columns))
            arrow_at = np.tile(np.arange(len(columns)), len(rows))
            places = rows[shooter_at], columns[arrow_at], shooter_at, arrow_at
            whole = _Block(people, spread, kinds, *places)
            for begin in range(0, len(shooter_at), TOGETHER):
                yield whole.part(slice(begin, begin + TOGETHER))


class _Found:
    """Collects the findings of all pairs."""

    def __init__(self, archers: int, sets: int) -> None:
        shape = (archers, sets)
        self._severity = np.full(shape, PRECEDENCE["stop"], dtype=np.int8)
        self._margin = np.full(shape, np.nan)
        self._load = np.full(shape, np.nan)
        self._in_window = np.zeros(shape, dtype=np.bool_)
        self._determinate = np.zeros(shape, dtype=np.bool_)
        self._not_checked: dict[tuple[str, str], NotChecked] = {}
        self._unevaluated: dict[tuple[str, str], Unevaluated] = {}
        self._taken: tuple[Shooter, Whole, tuple[Shooter, Spread]] | None = None
        self._arrows: dict[int, tuple[_Described, Whole, _Described]] = {}

    def add(self, block: _Block, ruleset: RuleSet) -> None:
        """Judge a block; MixedError where it must be parted first."""
        shooters, spread = self._shooters_of(block)
        described = self._arrows_of(block)
        arrows = described.arrow
        fitting = Fitting(archer=shooters.archer, bow=shooters.bow, arrow=arrows)
        facts = facts_of(fitting, arrow_facts=described.facts, spread=spread)
        many = evaluate_many(
            fitting,
            ruleset,
            len(block.rows),
            shooters.local,
            facts=facts,
            items_for_each=_ITEMS_FOR_EACH,
        )
        assert arrows.length is not None
        minimum = many.minimum_usable + many.facts.sleeve
        shortest, longest, _, empty = windows_of(
            many.facts, shooters.bow, exposed_of(arrows), minimum, ceiling_of(many)
        )
        outside = shorter(arrows.length, shortest) | longer(arrows.length, longest) | empty
        at = block.rows, block.columns
        self._severity[at] = many.severities
        self._margin[at] = arrows.length - shortest_safe(minimum, many.facts, shooters.bow, arrows)
        self._in_window[at] = ~outside
        self._determinate[at] = many.determinate
        if many.facts.launch_load is not None:
            self._load[at] = many.facts.launch_load
        for lacking in many.common.not_checked:
            self._not_checked.setdefault((lacking.plugin, lacking.rule), lacking)
        # One reason a rule: thousands of pairs may each have words of their own.
        for said in (many.common, *many.own.values()):
            for failed in said.unevaluated:
                self._unevaluated.setdefault((failed.plugin, failed.rule), failed)

    def _shooters_of(self, block: _Block) -> tuple[Shooter, Spread]:
        """Take the archers of pairs, which are often those of the block before."""
        group, places = block.shooters, block.shooter_at
        before = self._taken
        if before is None or before[0] is not group or not np.array_equal(before[1], places):
            before = self._taken = group, places, take((group, block.spread), places)
        return before[2]

    def _arrows_of(self, block: _Block) -> _Described:
        """Take the arrows of pairs, which the group of archers before often had too."""
        group, places = block.sets, block.arrow_at
        kept = self._arrows.get(id(group))
        if kept is not None and kept[0] is group and np.array_equal(kept[1], places):
            return kept[2]
        taken = take(group, places)
        if (len(self._arrows) + 1) * places.size <= _KEPT:
            self._arrows[id(group)] = group, places, taken
        return taken

    def pairs(self) -> Pairs:
        """Give all that was found."""
        return Pairs(
            severity=self._severity,
            margin=self._margin,
            in_window=self._in_window,
            launch_load=self._load,
            determinate=self._determinate,
            not_checked=tuple(one for _, one in sorted(self._not_checked.items())),
            unevaluated=tuple(one for _, one in sorted(self._unevaluated.items())),
        )
