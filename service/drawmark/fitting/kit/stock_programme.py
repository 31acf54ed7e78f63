"""The dynamic programme behind the choice of lengths, in whole numbers.

Sorted by need, those who share a length are neighbours, and their best length is the need of
the last. The waste of a group obeys the quadrangle inequality, and so do the groups that a
bound refuses. So the best begin of the last group only rises with its end, and each layer is
searched by halves instead of pair by pair.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from drawmark.fitting.columns import Whole


@dataclass(frozen=True, kw_only=True, slots=True)
class Stock:
    """The lengths chosen.

    Parameters
    ----------
    stock : tuple[int, ...]
        Indices of the lengths chosen, ascending; empty where no choice suits all.
    curve : tuple[int | None, ...]
        Least waste with at most 1, 2, ... lengths; None where so few cannot suit all.
    fewest : int
        Least number of lengths that suits all.
    """

    stock: tuple[int, ...]
    curve: tuple[int | None, ...]
    fewest: int


def choose_stock(*, offered: Whole, count: Whole, total: Whole, kept: Whole, most: int) -> Stock:
    """Choose at most so many of the offered lengths that the waste is least.

    Parameters
    ----------
    offered : Whole
        The lengths offered, ascending.
    count : Whole
        How many need each of them, and nothing shorter.
    total : Whole
        Sum of what these need.
    kept : Whole
        For each length, how many of the shortest cannot be replaced by it; it never falls.
    most : int
        How many lengths may be chosen.

    Returns
    -------
    Stock
        The choice of least waste, with the fewest lengths.
    """
    needs = len(offered)
    if not needs:
        return Stock(stock=(), curve=(0,) * most, fewest=0)
    counted: Whole = np.concatenate([[0], np.cumsum(count)])
    summed: Whole = np.concatenate([[0], np.cumsum(total)])
    reach: Whole = np.concatenate([[0], offered])
    fewest = np.zeros(needs + 1, dtype=np.int64)
    for end in range(1, needs + 1):
        fewest[end] = 1 + fewest[kept[end - 1]]

    def measure(before: Whole, begin: Whole, end: Whole) -> Whole:
        length = reach[end] * (counted[end] - counted[begin])
        return before[begin] + length - (summed[end] - summed[begin])

    # Of each layer: the least waste of the first needs, and where their last length begins.
    waste = np.zeros(needs + 1, dtype=np.int64)
    begins: list[Whole] = []
    curve: list[int | None] = []
    furthest = 0
    for layer in range(1, min(most, needs) + 1):
        before, furthest_before = waste, furthest
        furthest = int(np.searchsorted(fewest, layer, side="right")) - 1
        ends = np.arange(layer, furthest + 1)
        low = np.maximum(kept[ends - 1], layer - 1)
        high = np.minimum(ends - 1, furthest_before)
        begin = _search_by_halves(partial(measure, before), ends, low, high)
        waste = np.zeros_like(before)
        waste[ends] = measure(before, begin, ends)
        begins.append(np.zeros_like(before))
        begins[-1][ends] = begin
        curve.append(int(waste[needs]) if furthest == needs else None)
    curve += curve[-1:] * (most - len(curve))
    return Stock(stock=_trace(begins, curve), curve=tuple(curve), fewest=int(fewest[needs]))


def _search_by_halves(
    measure: Callable[[Whole, Whole], Whole], ends: Whole, low: Whole, high: Whole
) -> Whole:
    """Find the begin of least waste for each end, between the bounds and never falling."""
    size = len(ends)
    best = np.empty(size, dtype=np.int64)
    stride = 1 << (size.bit_length() - 1)
    while stride:
        # Of these the neighbours one stride away are known, and enclose what is sought.
        places = np.arange(stride - 1, size, 2 * stride)
        first, last = low[places], high[places]
        left, right = places - stride, places + stride
        first[left >= 0] = np.maximum(first[left >= 0], best[left[left >= 0]])
        last[right < size] = np.minimum(last[right < size], best[right[right < size]])
        lengths = last - first + 1
        starts = np.cumsum(lengths) - lengths
        begin = np.arange(lengths.sum()) + np.repeat(first - starts, lengths)
        waste = measure(begin, np.repeat(ends[places], lengths))
        least = np.minimum.reduceat(waste, starts)
        found = np.flatnonzero(waste == np.repeat(least, lengths))
        best[places] = begin[found[np.searchsorted(found, starts)]]
        stride //= 2
    return best


def _trace(begins: list[Whole], curve: list[int | None]) -> tuple[int, ...]:
    """Follow the groups back from the last, in the first layer that is as good as any."""
    if curve[-1] is None:
        return ()
    stock: list[int] = []
    end = len(begins[0]) - 1
    for layer in reversed(begins[: curve.index(curve[-1]) + 1]):
        stock.insert(0, end - 1)
        end = int(layer[end])
    return tuple(stock)
