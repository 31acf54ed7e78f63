"""Which few lengths to buy, so that every set is long enough and least length is wasted."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.fitting.columns import Column, Whole
from drawmark.fitting.kit.stock_programme import choose_stock
from drawmark.fitting.limits import TOLERANCE, longer
from drawmark.fitting.rounding import steps_up

_WHOLE: Final = 1e-9
"""Lengths are summed in whole nanometres, which leaves no rounding [m]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class StockLength:
    """One length to buy.

    Parameters
    ----------
    length : float
        Arrow length [m].
    archers : tuple[int, ...]
        Indices of the archers who get it.
    arrows : int
        Number of arrows of it.
    """

    length: float
    archers: tuple[int, ...]
    arrows: int


@dataclass(frozen=True, kw_only=True, slots=True)
class LengthPlan:
    """The lengths to buy, and what other numbers of lengths would waste.

    Parameters
    ----------
    lengths : tuple[StockLength, ...]
        The lengths, shortest first; no more than asked for, and fewer where as good.
        Empty where so few lengths cannot suit everyone.
    waste : float | None
        Sum over the arrows of what they are longer than needed; None without lengths [m].
    curve : tuple[float | None, ...]
        Least waste with at most 1, 2, ... lengths; None where so few cannot suit all [m].
    fewest_lengths : int
        Least number of lengths that suits everyone, be it more than asked for.
    unsuited : tuple[int, ...]
        Indices of the archers whom no length suits: what they need, rounded up to the
        increment, is longer than what they can use. Nothing else counts them.
    """

    lengths: tuple[StockLength, ...]
    waste: float | None
    curve: tuple[float | None, ...]
    fewest_lengths: int
    unsuited: tuple[int, ...]


def choose_lengths(
    needs: Column,
    most_lengths: int,
    *,
    longest: Column | None = None,
    arrows: Whole | None = None,
    increment: float | None = None,
) -> LengthPlan:
    """Choose at most so many lengths that everyone's set is long enough and waste is least.

    Parameters
    ----------
    needs : Column
        Recommended arrow length of each archer: nothing shorter is bought [m].
    most_lengths : int
        How many different lengths may be bought.
    longest : Column | None
        Longest arrow length that each archer can use; infinite, or None for all, where
        there is no such bound [m].
    arrows : Whole | None
        How many arrows each archer gets; None for one each.
    increment : float | None
        Lengths are whole multiples of it; None where any length can be had [m].

    Returns
    -------
    LengthPlan
        The plan of least waste, exactly; with the fewest lengths among such plans.

    Raises
    ------
    ValueError
        If a figure is not finite or not positive, or the columns differ in length.
    """
    if longest is None:
        longest = np.full(len(needs), np.inf)
    if arrows is None:
        arrows = np.ones(len(needs), dtype=np.int64)
    _check_figures(needs, most_lengths, longest, arrows, increment)

    if increment is None:
        rounded = np.rint(needs / _WHOLE) * _WHOLE
    else:
        # Half the tolerance, so that rounding cannot carry a length out of the whole of it.
        rounded = np.asarray(steps_up(needs, increment, TOLERANCE / 2) * increment)
    suited = np.logical_not(longer(rounded, longest))
    lengths, row = np.unique(rounded[suited], return_inverse=True)
    offered = np.rint(lengths / _WHOLE).astype(np.int64)
    # A length that rounds to a hair below the need wastes nothing.
    needed = np.minimum(np.rint(needs[suited] / _WHOLE).astype(np.int64), offered[row])

    chosen = choose_stock(
        offered=offered,
        count=_sum_rows(row, arrows[suited], len(lengths)),
        total=_sum_rows(row, arrows[suited] * needed, len(lengths)),
        kept=_find_kept(lengths, row, longest[suited]),
        most=most_lengths,
    )
    curve = tuple(None if waste is None else waste * _WHOLE for waste in chosen.curve)
    return LengthPlan(
        lengths=_gather(lengths, chosen.stock, row, np.flatnonzero(suited), arrows),
        waste=curve[-1],
        curve=curve,
        fewest_lengths=chosen.fewest,
        unsuited=tuple(int(archer) for archer in np.flatnonzero(~suited)),
    )


def _check_figures(
    needs: Column, most: int, longest: Column, arrows: Whole, increment: float | None
) -> None:
    if needs.ndim != 1 or not needs.shape == longest.shape == arrows.shape:
        raise ValueError("one need, one bound and one count of arrows for each archer")
    if not (np.isfinite(needs).all() and (needs > 0).all()):
        raise ValueError("a need is not a positive length")
    if np.isnan(longest).any():
        raise ValueError("a bound is not a length")
    if (arrows < 1).any():
        raise ValueError("every archer gets at least one arrow")
    if most < 1:
        raise ValueError("at least one length must be bought")
    if increment is not None and not (math.isfinite(increment) and increment > TOLERANCE):
        raise ValueError("the increment is not a length")


def _sum_rows(row: Whole, figures: Whole, rows: int) -> Whole:
    sums = np.zeros(rows, dtype=np.int64)
    np.add.at(sums, row, figures)
    return sums


def _find_kept(lengths: Column, row: Whole, longest: Column) -> Whole:
    """Count, for each length, the shorter ones up to the last that may not be replaced by it."""
    bound = np.full(len(lengths), np.inf)
    np.minimum.at(bound, row, longest)
    kept = np.zeros(len(lengths) + 1, dtype=np.int64)
    refused = np.searchsorted(lengths, bound + TOLERANCE, side="right")
    np.maximum.at(kept, refused, np.arange(1, len(lengths) + 1))
    return np.maximum.accumulate(kept)[:-1]


def _gather(
    lengths: Column,
    stock: tuple[int, ...],
    row: Whole,
    archers: Whole,
    arrows: Whole,
) -> tuple[StockLength, ...]:
    place = np.searchsorted(np.array(stock), row)
    return tuple(
        StockLength(
            length=float(lengths[index]),
            archers=tuple(int(archer) for archer in archers[place == rank]),
            arrows=int(arrows[archers[place == rank]].sum()),
        )
        for rank, index in enumerate(stock)
    )
