"""Sets that archers of different details share, and sets with fewer arrows than asked for."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from drawmark.fitting.columns import Column, Mask, Whole
from drawmark.fitting.kit.assignment import assign_sets


@dataclass(frozen=True, kw_only=True, slots=True)
class Share:
    """What one archer gets.

    Parameters
    ----------
    place : int
        Index of the set.
    arrows : int
        How many of its arrows.
    """

    place: int
    arrows: int


def share_sets(
    *,
    allowed: Mask,
    passes: Mask,
    in_window: Mask,
    margin: Column,
    launch_load: Column,
    counts: Whole,
    each: int,
    least: int | None = None,
    details: Sequence[Hashable] | None = None,
) -> tuple[Share | None, ...]:
    """Choose a set for each archer; each detail has the whole rack to itself.

    The arrows that are left of a set, or the whole of a small one, may serve one archer more if
    they are at least `least`. Where else the criteria of `assign_sets` are equal, such a part
    comes after a set with all arrows: it never counts as in the window.

    Parameters
    ----------
    allowed, passes, in_window : Mask
        As of `assign_sets`: a row for each archer, a column for each set.
    margin, launch_load : Column
        As of `assign_sets` [m], [1].
    counts : Whole
        Arrows of each set.
    each : int
        Arrows that each archer is to get.
    least : int, optional
        Arrows that will do; left out, `each`.
    details : sequence, optional
        The detail of each archer; left out, all shoot at once.

    Returns
    -------
    tuple of Share or None
        What each archer gets, None for an archer left out.

    Raises
    ------
    ValueError
        As of `assign_sets`.
    """
    wholes, rest = counts // each, counts % each
    parts = np.flatnonzero(rest >= (each if least is None else least))
    places = np.concatenate([np.arange(counts.size), parts])
    capacity = np.concatenate([wholes, np.ones_like(parts)])
    arrows = np.concatenate([np.full_like(counts, each), rest[parts]])
    usual = in_window[:, places]
    usual[:, counts.size :] = False
    shares: list[Share | None] = [None] * len(allowed)
    for rows in _rows_of(details, len(allowed)):
        found = assign_sets(
            allowed=allowed[np.ix_(rows, places)],
            passes=passes[np.ix_(rows, places)],
            in_window=usual[rows],
            margin=margin[np.ix_(rows, places)],
            launch_load=launch_load[np.ix_(rows, places)],
            capacity=capacity,
        )
        for row, at in zip(rows.tolist(), found, strict=True):
            if at is not None:
                shares[row] = Share(place=int(places[at]), arrows=int(arrows[at]))
    return tuple(shares)


def _rows_of(details: Sequence[Hashable] | None, archers: int) -> list[Whole]:
    """Give the archers of each detail, in the order in which the details first come."""
    if details is None:
        return [np.arange(archers)]
    rows: dict[Hashable, list[int]] = {}
    for archer, detail in enumerate(details):
        rows.setdefault(detail, []).append(archer)
    return [np.array(one) for one in rows.values()]
