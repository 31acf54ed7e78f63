"""Among equally good assignments, the one that serves the earliest rows first.

All best assignments differ from a given one by cycles of moves that together cost nothing.
Once the places have prices that no move undercuts, such cycles consist of moves whose
reduced cost is zero.
"""

from __future__ import annotations

import numpy as np

from drawmark.fitting.columns import Mask, Whole
from drawmark.fitting.kit.transport import UNASSIGNED, Weights


def prefer_earliest(benefit: Weights, place: Whole, capacity: Whole) -> Whole:
    """Find the best assignment whose rows, in order, have the earliest possible columns.

    Parameters
    ----------
    benefit : Weights
        Benefit of serving the row from the column; 0 where it cannot be.
    place : Whole
        Column of each row in some assignment of greatest benefit, or UNASSIGNED.
    capacity : Whole
        How many rows each column can serve.

    Returns
    -------
    Whole
        The column of each row, or UNASSIGNED; the sum of the benefits stays the same.
    """
    rows, columns = benefit.shape
    # Being left out is one more place, the last, always with room. The sink behind all places
    # lets a row move to a place with room while another place gives one up.
    sink = columns + 1
    cost = np.column_stack([np.where(benefit > 0, -benefit, np.inf), np.zeros(rows)])
    room = np.append(capacity, rows + 1)
    at = np.where(place == UNASSIGNED, columns, place)
    used = np.bincount(at, minlength=columns + 1)
    price = _price_places(cost, at, room, used)
    move = cost - cost[np.arange(rows), at][:, None] + price[at][:, None] - price[:sink]
    free = move == 0
    level = price[:sink] == price[sink]

    for row in range(rows):
        here = int(at[row])
        if free[row, :here].any():
            cycles = _Cycles(free, at, level & (used < room), level, row)
            target = cycles.find_earliest()
            if target != here:
                cycles.apply(target)
                used = np.bincount(at, minlength=columns + 1)
    return np.where(at == columns, UNASSIGNED, at)


def _price_places(cost: Weights, at: Whole, room: Whole, used: Whole) -> Weights:
    """Price the places and the sink so that no move costs less than the prices differ."""
    places = cost.shape[1]
    move = np.full((places + 1, places + 1), np.inf)
    for place in np.unique(at):
        moved = at == place
        move[place, :places] = (cost[moved] - cost[moved, place][:, None]).min(axis=0)
    move[:places, places] = np.where(used < room, 0.0, np.inf)
    move[places, :places] = np.where(used > 0, 0.0, np.inf)
    price = np.zeros(places + 1)
    while True:
        cheaper = np.minimum(price, (price[:, None] + move).min(axis=0))
        if (cheaper == price).all():
            return price
        price = cheaper


class _Cycles:
    """The cycles of free moves that begin with one row; earlier rows stay."""

    def __init__(self, free: Mask, at: Whole, absorbs: Mask, releases: Mask, row: int) -> None:
        self.free, self.at, self.row = free, at, row
        self.start = int(at[row])
        # Who moves on from a place, and where to; nobody from one that absorbs the row.
        self.mover = np.full(free.shape[1], UNASSIGNED)
        self.onward = np.full(free.shape[1], UNASSIGNED)
        self.closes = np.zeros(free.shape[1], dtype=np.bool_)
        self.released: int | None = None
        self._search_backward(absorbs, releases)

    def _search_backward(self, absorbs: Mask, releases: Mask) -> None:
        later = np.arange(self.row + 1, len(self.at))
        reached = np.array([self.start])
        self.closes[self.start] = True
        while len(reached):
            if self.released is None and releases[reached].any():
                # One place gives up a row, so any place with room may keep one more.
                self.released = int(reached[releases[reached].argmax()])
                opened = np.flatnonzero(absorbs & ~self.closes)
                self.closes[opened] = True
                reached = np.append(reached, opened)
            able = later[~self.closes[self.at[later]]]
            ways = self.free[np.ix_(able, reached)]
            moves = ways.any(axis=1)
            movers, targets = able[moves], reached[ways[moves].argmax(axis=1)]
            reached, first = np.unique(self.at[movers], return_index=True)
            self.mover[reached], self.onward[reached] = movers[first], targets[first]
            self.closes[reached] = True

    def find_earliest(self) -> int:
        """Find the earliest place from which the cycle still closes."""
        return int(np.flatnonzero(self.free[self.row] & self.closes)[0])

    def apply(self, target: int) -> None:
        """Move the row to its place, and whoever must move on for it."""
        self.at[self.row] = place = target
        while place != self.start:
            mover = int(self.mover[place])
            if mover != UNASSIGNED:
                self.at[mover] = place = int(self.onward[place])
            elif self.released is not None:
                place = self.released
