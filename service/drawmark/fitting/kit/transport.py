"""The greatest total benefit of serving rows from places of limited capacity."""

from __future__ import annotations

from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from drawmark.fitting.columns import Whole

Weights: TypeAlias = NDArray[np.float64]

UNASSIGNED: Final = -1
"""The place of a row that is served from nowhere."""


def solve_transport(benefit: Weights, capacity: Whole, start: Whole | None = None) -> Whole:
    """Give each row a place, or none, so that the sum of the benefits is greatest.

    Parameters
    ----------
    benefit : Weights
        Benefit of serving the row from the column; positive, or 0 where it cannot be.
        Whole numbers, whose sums floating point must hold exactly.
    capacity : Whole
        How many rows each column can serve.
    start : Whole | None
        Places in a similar problem; to begin there saves time.

    Returns
    -------
    Whole
        The column of each row, or UNASSIGNED.
    """
    # scipy.optimize takes longer to import than most requests take to answer.
    from scipy.optimize import linear_sum_assignment

    rows, columns = benefit.shape
    place = np.full(rows, UNASSIGNED, dtype=np.int64)
    if not rows or not columns:
        return place
    # The solver needs one copy of a column for each row it serves. Copies beyond those in use
    # change nothing, so begin with few and double those of a column once all are in use.
    most = np.minimum(capacity, np.count_nonzero(benefit, axis=0))
    expected = np.full(columns, rows // columns) if start is None else _count_rows(start, columns)
    copies = np.minimum(most, 1 + expected)
    while True:
        column_of = np.repeat(np.arange(columns), copies)
        served, copy = linear_sum_assignment(benefit[:, column_of], maximize=True)
        place[:] = UNASSIGNED
        place[served] = column_of[copy]
        place[served[benefit[served, place[served]] == 0]] = UNASSIGNED
        full = (_count_rows(place, columns) == copies) & (copies < most)
        if not full.any():
            return place
        copies = np.where(full, np.minimum(most, 2 * copies), copies)


def _count_rows(place: Whole, columns: int) -> Whole:
    return np.bincount(place[place != UNASSIGNED], minlength=columns)
