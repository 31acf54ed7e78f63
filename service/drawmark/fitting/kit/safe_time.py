"""For how long a set stays safe for an archer whose draw lengthens."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from drawmark.fitting.limits import MOST_SAFE_MONTHS, longer

State = Literal["growing", "not_growing", "already_outgrown"]


@dataclass(frozen=True, kw_only=True, slots=True)
class SafeTime:
    """How many whole months of growth a set still allows.

    Parameters
    ----------
    state : State
        ``growing``; ``not_growing``, when no date can be given; ``already_outgrown``, when the
        draw is beyond the longest safe draw already.
    months : int | None
        Whole months until growth has used up the room; None unless ``growing`` [months].
    """

    state: State
    months: int | None


def count_safe_months(*, longest_safe_draw: float, draw: float, growth_rate: float) -> SafeTime:
    """Count the whole months until growth has used up a set's longest safe draw.

    After that many months the draw is still no longer than the longest safe draw, by the
    tolerance that verdicts use. The count stops at ten years, since a rate of growth tells
    nothing of later ones.

    Parameters
    ----------
    longest_safe_draw : float
        Longest safe draw of the set as this archer controls the draw [m].
    draw : float
        The archer's draw now, measured the same way [m].
    growth_rate : float
        How fast the draw lengthens [m a month].

    Returns
    -------
    SafeTime
        The months, or why there are none.

    Raises
    ------
    ValueError
        If a figure is not finite, or the growth rate is negative.
    """
    if not all(map(math.isfinite, (longest_safe_draw, draw, growth_rate))):
        raise ValueError("lengths and growth rate must be finite")
    if growth_rate < 0:
        raise ValueError("a draw does not shorten with growth")
    return count_growing_months(longest_safe_draw, draw, lambda months: months * growth_rate)


def count_growing_months(
    longest_safe_draw: float, draw: float, growth: Callable[[int], float]
) -> SafeTime:
    """Count the same for a draw that does not grow evenly.

    Parameters
    ----------
    longest_safe_draw : float
        Longest safe draw of the set [m].
    draw : float
        The archer's draw now [m].
    growth : callable
        Growth of the draw after whole months, which never falls [m].

    Returns
    -------
    SafeTime
        The months, or why there are none.
    """
    if longer(draw, longest_safe_draw):
        return SafeTime(state="already_outgrown", months=None)
    if growth(MOST_SAFE_MONTHS) == 0:
        return SafeTime(state="not_growing", months=None)
    months = bisect_left(
        range(1, MOST_SAFE_MONTHS + 1),
        True,
        key=lambda month: bool(longer(draw + growth(month), longest_safe_draw)),
    )
    return SafeTime(state="growing", months=months)
