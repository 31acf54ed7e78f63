"""A mixed box of arrows sorted into as many sets as possible that are alike.

Arrows are alike if each of their figures lies within its tolerance, greatest less least. So every
set lies in a window: for each figure, from what one arrow of the set has to a tolerance more. The
box is parted where neighbours lie more than a tolerance apart. Each part is swept once: from the
least by the figure that varies most, every arrow gets the partners that are soonest out of reach of
all others. Where one figure alone would allow more sets and the part is small, it is then solved
exactly: how many sets each window makes, and which arrows go where, all in whole numbers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.deadline import deadline
from drawmark.fitting.columns import Column, Mask, Whole

MOST_EXACT: Final = 48
"""Arrows of a part that is solved exactly."""
_MOST_SOLVED: Final = 4
"""Parts that are solved exactly; the worst take a second each."""
_MOST_LINKS: Final = 1_000
"""Places of arrows in windows that a solver is given: more take it seconds."""
_NODES: Final = 50
"""Branches that the solver may try. A limit of time would give other sets the next time."""
_NEAR: Final = 32
"""Arrows among which the sweep looks for partners."""
_KEPT: Final = 8
"""Windows that the sweep keeps after each figure."""
_ROUNDING: Final = 1e-9
"""Share of a tolerance by which sums of figures may be off."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Sorted:
    """The sets that were made.

    Parameters
    ----------
    sets : tuple of tuple of int
        Places of the arrows of each set, ascending.
    most : int
        No sorting makes more sets than this.
    """

    sets: tuple[tuple[int, ...], ...]
    most: int


def sort_into_sets(figures: Column, tolerances: Column, size: int) -> Sorted:
    """Sort arrows into as many sets as possible.

    Parameters
    ----------
    figures : Column
        A row for each arrow, a column for each figure; nothing missing.
    tolerances : Column
        How far the figures of one set may lie apart, greatest less least.
    size : int
        Arrows of a set, two or more.

    Returns
    -------
    Sorted
        The sets, and a bound on their number; the same for the same figures.

    Raises
    ------
    ValueError
        If the shapes disagree, or a figure is not finite.
    """
    if figures.ndim != 2 or tolerances.shape != figures.shape[1:] or size < 2:
        raise ValueError("a row for each arrow, a tolerance for each column, two or more in a set")
    if not (np.isfinite(figures).all() and (tolerances > 0).all()):
        raise ValueError("a figure is not finite, or a tolerance not above zero")
    scaled = figures / tolerances
    sets: list[tuple[int, ...]] = []
    most = solved = 0
    for places in _parts(scaled, np.arange(len(figures)), size):
        deadline.check()
        part = scaled[places]
        found, bound = _sweep(part, size), _bound(part, size)
        if len(found) < bound and len(places) <= MOST_EXACT and solved < _MOST_SOLVED:
            exact, proven = _solve(part, size)
            found, bound = max(exact, found, key=len), min(bound, proven)
            solved += 1
        sets += [tuple(sorted(places[list(one)].tolist())) for one in found]
        most += bound
    return Sorted(sets=tuple(sorted(sets)), most=most)


def find_incomplete(figures: Column, tolerances: Column, size: int) -> tuple[tuple[int, ...], ...]:
    """Sort arrows of which no set can be made into those that come nearest to one.

    Parameters
    ----------
    figures : Column
        A row for each arrow that is left over, a column for each figure.
    tolerances : Column
        How far the figures of one set may lie apart.
    size : int
        Arrows of a set.

    Returns
    -------
    tuple of tuple of int
        Places of the arrows of each, the largest first; at least half a set, and at least two.
    """
    scaled, left = figures / tolerances, np.arange(len(figures))
    found = []
    for count in range(size - 1, max(2, (size + 1) // 2) - 1, -1):
        deadline.check()
        groups = [
            tuple(sorted(places[one].tolist()))
            for places in _parts(scaled, left, count)
            for one in _sweep(scaled[places], count)
        ]
        found += sorted(groups)
        left = left[~np.isin(left, [at for group in groups for at in group])]
    return tuple(found)


def _parts(scaled: Column, places: Whole, size: int) -> Iterator[Whole]:
    """Part arrows wherever neighbours by one figure lie more than a tolerance apart."""
    if len(places) < size:
        return
    for figure in range(scaled.shape[1]):
        order = places[np.argsort(scaled[places, figure], kind="stable")]
        gaps = np.flatnonzero(np.diff(scaled[order, figure]) > 1 + _ROUNDING) + 1
        if gaps.size:
            for part in np.split(order, gaps):
                yield from _parts(scaled, np.sort(part), size)
            return
    yield places


def _sweep(scaled: Column, size: int) -> list[list[int]]:
    """Make sets from the least arrow up, by the figure that varies most."""
    key = int(np.ptp(scaled, axis=0).argmax())
    order = np.lexsort((np.arange(len(scaled)), scaled[:, key]))
    rows, free, made = scaled[order], np.ones(len(scaled), dtype=np.bool_), []
    for at in range(len(rows)):
        if not free[at]:
            continue
        end = np.searchsorted(rows[:, key], rows[at, key] + 1 + _ROUNDING, side="right")
        near = at + np.flatnonzero(free[at:end])
        near = near[(np.abs(rows[near] - rows[at]) <= 1 + _ROUNDING).all(axis=1)][:_NEAR]
        members = _partners(rows[near], size)
        if members is not None:
            free[near[members]] = False
            made.append(order[near[members]].tolist())
    return made


def _partners(near: Column, size: int) -> Whole | None:
    """Choose a set that holds the first of some arrows, as early in their order as possible."""
    groups = np.ones((1, len(near)), dtype=np.bool_)
    for values in near.T:
        low = np.unique(values[values <= values[0]])[:, None]
        within = (values >= low) & (values <= low + 1 + _ROUNDING)
        groups = (groups[:, None] & within).reshape(-1, len(near))
        groups = groups[groups.sum(axis=1) >= size]
        if not len(groups):
            return None
        last = (groups.cumsum(axis=1) < size).sum(axis=1)
        groups = groups[np.argsort(last, kind="stable")[:_KEPT]]
    return np.flatnonzero(groups[0])[:size]


def _bound(scaled: Column, size: int) -> int:
    """Bound the number of sets by what each figure alone would allow."""
    return min(_most_along(np.sort(values), size) for values in scaled.T)


def _most_along(values: Column, size: int) -> int:
    """How many sets one figure alone would allow: greedily from the least, which is the most."""
    sets, at = 0, 0
    while at + size <= len(values):
        if values[at + size - 1] - values[at] <= 1 + _ROUNDING:
            sets, at = sets + 1, at + size
        else:
            at += 1
    return sets


def _windows(scaled: Column, size: int) -> Mask:
    """Give the greatest groups that are alike, a row for each with its arrows."""
    every = [np.ones(len(scaled), dtype=np.bool_)]
    for figure in range(scaled.shape[1]):
        values = scaled[:, figure]
        narrowed = [
            part
            for group in every
            for low in np.unique(values[group])
            if (part := group & (values >= low) & (values <= low + 1 + _ROUNDING)).sum() >= size
        ]
        every = list(_greatest(np.array(narrowed))) if narrowed else []
    return np.array(every, dtype=np.bool_).reshape(-1, len(scaled))


def _greatest(groups: Mask) -> Mask:
    """Leave out every group that lies within another."""
    groups = np.unique(groups, axis=0)
    counted = groups.astype(np.int64)
    shared = counted @ counted.T
    within = (shared == shared.diagonal()[:, None]) & ~np.eye(len(groups), dtype=np.bool_)
    return np.asarray(groups[~within.any(axis=1)])


def _solve(scaled: Column, size: int) -> tuple[list[list[int]], int]:
    """Make as many sets as possible of a few arrows, and bound their number."""
    # scipy.optimize takes longer to import than most requests take to answer.
    from scipy import sparse
    from scipy.optimize import Bounds, LinearConstraint, milp

    windows = _windows(scaled, size)
    row, arrow = np.nonzero(windows)
    count, links = len(windows), len(row)
    if not count or links > _MOST_LINKS:
        return [], len(scaled) // size if count else 0
    # A window holds as many arrows as its sets need, and no arrow is in two windows.
    parts, columns = np.arange(count), count + np.arange(links)
    room = sparse.coo_array(
        (
            np.concatenate([np.full(count, -float(size)), np.ones(links)]),
            (np.concatenate([parts, row]), np.concatenate([parts, columns])),
        ),
        shape=(count, count + links),
    )
    once = sparse.coo_array((np.ones(links), (arrow, columns)), shape=(len(scaled), count + links))
    found = milp(
        np.concatenate([-np.ones(count), np.zeros(links)]),
        integrality=np.ones(count + links, dtype=np.int64),
        bounds=Bounds(0, np.concatenate([windows.sum(axis=1) // size, np.ones(links)])),
        constraints=[
            LinearConstraint(room.tocsr(), 0, 0),
            LinearConstraint(once.tocsr(), -np.inf, 1),
        ],
        options={"node_limit": _NODES},
    )
    if found.x is None:
        return [], len(scaled) // size
    taken = found.x[count:] > 0.5
    sets = []
    for at in range(count):
        members = arrow[taken & (row == at)].tolist()
        sets += [members[first : first + size] for first in range(0, len(members), size)]
    return sets, int(np.floor(0.5 - found.mip_dual_bound))
