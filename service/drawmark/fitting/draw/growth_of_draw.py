"""How much an archer's draw gets longer, and how much it has since it was measured."""

from __future__ import annotations

import numpy as np

from drawmark.fitting.columns import Real, Truth
from drawmark.fitting.dates import months_between
from drawmark.fitting.draw.height_growth import MONTHS_A_YEAR, Centile, draw_growth_by_age
from drawmark.fitting.growing import Growing
from drawmark.fitting.limits import GROWN_UP_AGE


def months_since(growing: Growing) -> float:
    """Count the months since the draw was measured; 0 where the days are not given.

    Parameters
    ----------
    growing : Growing
        With `measured_on` and `today`.

    Returns
    -------
    float
        Age of the measurement [months].
    """
    if growing.measured_on is None or growing.today is None:
        return 0.0
    return months_between(growing.measured_on, growing.today)


def tells_growth(growing: Growing) -> bool:
    """Tell whether a growth rate or an age is given."""
    return growing.growth_rate is not None or growing.age is not None


def may_still_grow(growing: Growing) -> Truth:
    """Tell whether a growth rate above zero or an age below that of the grown-up is given."""
    if growing.growth_rate is not None:
        return growing.growth_rate > 0
    return False if growing.age is None else growing.age < GROWN_UP_AGE


def growth_source(growing: Growing) -> str:
    """Give the key of the source of the growth figures."""
    if growing.growth_rate is not None:
        return "request"
    return "tanner-davies" if growing.growth_table == "boys" else "growth-ages"


def growth_of_draw(
    growing: Growing, months: float, *, start: float = 0.0, centile: Centile = "high"
) -> Real | None:
    """Estimate how much the draw gets longer.

    Parameters
    ----------
    growing : Growing
        With a growth rate [m a year] or an age [years].
    months : float
        Time that passes [months].
    start : float
        Begin of that time, counted from today [months].
    centile : str
        "low", "median" or "high". A stated rate is the same for all.

    Returns
    -------
    float, column or None
        Growth of the draw length; None where nothing tells it [m].

    References
    ----------
    .. [1] tanner-davies
    .. [2] growth-ages
    """
    if growing.growth_rate is not None:
        return growing.growth_rate * months / MONTHS_A_YEAR
    if growing.age is None:
        return None
    table, begins = growing.growth_table or "unknown", growing.age + start / MONTHS_A_YEAR
    if isinstance(begins, np.ndarray):
        return np.array([draw_growth_by_age(age, months, table) for age in begins.tolist()])
    return draw_growth_by_age(begins, months, table, centile)


def growth_since(growing: Growing) -> Real:
    """Estimate how much longer the draw is today than when it was measured.

    Parameters
    ----------
    growing : Growing
        The archer's growth, and the two days.

    Returns
    -------
    float or column
        Growth of the draw length since then, 0 where nothing tells it [m].
    """
    months = months_since(growing)
    growth = growth_of_draw(growing, months, start=-months) if months > 0 else None
    return 0.0 if growth is None else growth
