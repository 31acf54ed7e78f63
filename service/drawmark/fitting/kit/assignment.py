"""Who shoots which set. The best assignment is found by these criteria, in their order:

1. as many archers equipped as possible,
2. then as many of them with a pass as possible,
3. then as many inside their recommended window as possible,
4. then the greatest least margin among the equipped,
5. then the least sum of distances of the launch loads from the middle,
6. then the earliest archer first, each with the earliest set.

The first five are whole numbers (margins in tolerances, launch loads in steps). Floating point
weighs them exactly, so a later criterion never changes an earlier one.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from drawmark.fitting.columns import Column, Mask, Whole
from drawmark.fitting.kit.precedence import prefer_earliest
from drawmark.fitting.kit.transport import UNASSIGNED, Weights, solve_transport
from drawmark.fitting.limits import LAUNCH_LOAD_MIDDLE, LAUNCH_LOAD_STEP, TOLERANCE

_EXACT: Final = 2**53  # floating point holds whole numbers exactly up to this


def assign_sets(
    *,
    allowed: Mask,
    passes: Mask,
    in_window: Mask,
    margin: Column,
    launch_load: Column,
    capacity: Whole,
) -> tuple[int | None, ...]:
    """Choose a set for each archer by the criteria of this module, in their order.

    Parameters
    ----------
    allowed : Mask
        Whether the archer of the row may shoot the set of the column.
    passes : Mask
        Whether the verdict is a pass, without a caution.
    in_window : Mask
        Whether the set lies in the archer's recommended window.
    margin : Column
        Length above the minimum safe length; finite where allowed [m].
    launch_load : Column
        Draw weight over critical launch force; nan where unknown, which counts as the
        worst of the known.
    capacity : Whole
        How many archers each set can serve.

    Returns
    -------
    tuple of int or None
        Index of each archer's set, None for an archer left out; the same for the same figures,
        whatever solved it.

    Raises
    ------
    ValueError
        If shapes disagree, a margin is not finite where a set is allowed, a capacity is
        negative, or there are too many archers to weigh their criteria exactly.

    References
    ----------
    .. [1] project-launch-middle
    """
    _check_shapes(allowed, passes, in_window, margin, launch_load, capacity)
    distance = _load_distances(allowed, launch_load)
    safe_margin = np.where(allowed, margin, 0.0)
    steps = np.rint(safe_margin / TOLERANCE).astype(np.int64)
    least, chosen = _maximise_least_margin(allowed, passes, in_window, steps, capacity)
    benefit = _benefits(allowed & (steps >= least), passes, in_window, distance)
    chosen = prefer_earliest(benefit, solve_transport(benefit, capacity, chosen), capacity)
    return tuple(None if place == UNASSIGNED else int(place) for place in chosen)


def _check_shapes(
    allowed: Mask,
    passes: Mask,
    in_window: Mask,
    margin: Column,
    launch_load: Column,
    capacity: Whole,
) -> None:
    if allowed.ndim != 2 or capacity.shape != allowed.shape[1:]:
        raise ValueError("a row for each archer, a column and a capacity for each set")
    if not allowed.shape == passes.shape == in_window.shape == margin.shape == launch_load.shape:
        raise ValueError("the matrices differ in shape")
    if not np.isfinite(margin[allowed]).all():
        raise ValueError("a margin is not finite where the set is allowed")
    if (capacity < 0).any():
        raise ValueError("a capacity is negative")


def _load_distances(allowed: Mask, launch_load: Column) -> Whole:
    """Measure how far each launch load lies from the middle, in whole steps."""
    middle = LAUNCH_LOAD_MIDDLE
    known = allowed & np.isfinite(launch_load)
    distance = np.abs(np.where(known, launch_load, middle) - middle) / LAUNCH_LOAD_STEP
    if distance.max(initial=0.0) > _EXACT:
        raise ValueError("a launch load is too large to be weighed exactly")
    steps = np.rint(distance).astype(np.int64)
    return np.where(known, steps, steps.max(initial=0))


def _benefits(usable: Mask, passes: Mask, in_window: Mask, distance: Whole) -> Weights:
    """Weigh equipped, pass, in window and distance so that none makes up for an earlier one."""
    archers = len(usable)
    window_weight = archers * int(distance.max(initial=0, where=usable)) + 1
    pass_weight = (archers + 1) * window_weight
    archer_weight = (archers + 1) * pass_weight
    greatest = archer_weight + pass_weight + window_weight
    # The solver's prices are sums of differences of two weights, one or none for each archer; it
    # adds up to three prices and a weight.
    if 4 * archers * greatest > _EXACT:
        raise ValueError("too many archers, or launch loads too far apart, to weigh exactly")
    benefit = float(archer_weight) + pass_weight * passes.astype(np.float64)
    return np.where(usable, benefit + window_weight * in_window - distance, 0.0)


def _maximise_least_margin(
    allowed: Mask, passes: Mask, in_window: Mask, steps: Whole, capacity: Whole
) -> tuple[int, Whole]:
    """Find the greatest least margin that costs nobody a set, a pass or a place in the window."""
    benefit = _benefits(allowed, passes, in_window, np.zeros_like(steps))
    chosen = solve_transport(benefit, capacity)
    best = _sum_chosen(benefit, chosen)
    if not best:
        return 0, chosen
    levels = np.unique(steps[allowed])

    def find_level(places: Whole) -> int:
        archers = np.flatnonzero(places != UNASSIGNED)
        return int(np.searchsorted(levels, steps[archers, places[archers]].min()))

    low, high = find_level(chosen), len(levels)
    while high - low > 1:
        middle = (low + high) // 2
        raised = np.where(steps >= levels[middle], benefit, 0.0)
        places = solve_transport(raised, capacity, chosen)
        if _sum_chosen(raised, places) == best:
            low, chosen = find_level(places), places
        else:
            high = middle
    return int(levels[low]), chosen


def _sum_chosen(benefit: Weights, chosen: Whole) -> float:
    archers = np.flatnonzero(chosen != UNASSIGNED)
    return float(benefit[archers, chosen[archers]].sum())
