"""How fast a junior grows, by published height velocities, and how much the draw lengthens.

References
----------
.. [1] tanner-davies
.. [2] abbassi-1998
.. [3] draw-growth
.. [4] growth-ages
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from drawmark.fitting.limits import (
    GROWN_UP_AGE,
    HEIGHT_TO_DRAW,
    JUNIOR_HEIGHT_VELOCITY,
)

MONTHS_A_YEAR: Final = 12
Centile = Literal["low", "median", "high"]


@dataclass(frozen=True, kw_only=True, slots=True)
class HeightVelocity:
    """How fast juniors of one age grow.

    Parameters
    ----------
    age : float
        Age [years].
    low, median : float or None
        3rd and 50th centile; None where no table was found [m a year].
    high : float
        97th centile, or the conservative figure where no table was found [m a year].
    """

    age: float
    low: float | None
    median: float | None
    high: float


BOYS: Final = tuple(  # tanner-davies
    HeightVelocity(age=age, low=low / 100, median=median / 100, high=high / 100)
    for age, low, median, high in (
        (8.0, 3.93, 5.6, 7.23),
        (9.0, 3.78, 5.29, 6.82),
        (10.0, 3.7, 5.12, 6.53),
        (11.0, 3.69, 5.16, 6.58),
        (12.0, 4.02, 5.73, 7.33),
        (13.0, 6.15, 8.6, 11.25),
        (13.5, 7.1, 9.49, 11.9),
        (14.0, 6.05, 8.4, 10.7),
        (15.0, 2.35, 4.74, 7.0),
        (16.0, 0.4, 2.22, 4.1),
    )
)
BOYS_MEAN_PEAK: Final = 0.095  # abbassi-1998; [m a year], age 13.5
GIRLS_MEAN_PEAK: Final = 0.083  # abbassi-1998; [m a year], age 11.5
_AGES: Final = (*(row.age for row in BOYS), GROWN_UP_AGE)
_CENTILES: Final[tuple[Centile, ...]] = ("low", "median", "high")


def height_velocity(age: float, table: str = "unknown") -> HeightVelocity:
    """Look up how fast a junior grows, between the ages of the table by a straight line.

    Without a table, which is so for girls and for boys below 8, the high figure is the largest
    of the boys' 97th centile. From 16 to 20 the figures for 16 are held. From 20 on, height no
    longer grows.

    Parameters
    ----------
    age : float
        Age [years].
    table : str
        "boys" or "unknown".

    Returns
    -------
    HeightVelocity
        The velocity; only `high` where there is no table.

    References
    ----------
    .. [1] tanner-davies
    .. [2] growth-ages
    """
    if age >= GROWN_UP_AGE:
        return HeightVelocity(age=age, low=0.0, median=0.0, high=0.0)
    first, last = BOYS[0], BOYS[-1]
    if age < first.age or (table != "boys" and age < last.age):
        highest = JUNIOR_HEIGHT_VELOCITY * MONTHS_A_YEAR
        return HeightVelocity(age=age, low=None, median=None, high=highest)
    if table != "boys":
        return HeightVelocity(age=age, low=None, median=None, high=last.high)
    if age >= last.age:
        return HeightVelocity(age=age, low=last.low, median=last.median, high=last.high)
    younger, older = next(pair for pair in pairwise(BOYS) if age < pair[1].age)
    share = (age - younger.age) / (older.age - younger.age)
    low, median, high = (
        (1 - share) * getattr(younger, name) + share * getattr(older, name) for name in _CENTILES
    )
    return HeightVelocity(age=age, low=low, median=median, high=high)


def draw_growth_by_age(
    age: float, months: float, table: str = "unknown", centile: Centile = "high"
) -> float | None:
    """Estimate how much a junior's draw lengthens from an age on.

    Parameters
    ----------
    age : float
        Age at the start [years].
    months : float
        Time from then on [months].
    table : str
        "boys" or "unknown".
    centile : str
        "low", "median" or "high": the 3rd, 50th or 97th. What is safe goes by "high".

    Returns
    -------
    float or None
        Growth of the draw length; None where there is no table for the centile [m].

    References
    ----------
    .. [1] tanner-davies
    .. [2] draw-growth
    .. [3] growth-ages
    """
    end, growth = age + months / MONTHS_A_YEAR, 0.0
    # Between the ages of the table the velocity is a straight line: its middle is its mean.
    for start, stop in pairwise((age, *(each for each in _AGES if age < each < end), end)):
        velocity = getattr(height_velocity((start + stop) / 2, table), centile)
        if velocity is None:
            return None
        growth += (stop - start) * velocity
    return growth / HEIGHT_TO_DRAW


def estimate_draw_growth(height_velocity: float = JUNIOR_HEIGHT_VELOCITY) -> float:
    """Estimate how fast a draw lengthens from how fast its archer grows.

    The default velocity is the largest of the boys' 97th centile, for every junior from 10 to
    15, girls too.

    Parameters
    ----------
    height_velocity : float
        How fast the archer grows [m a month].

    Returns
    -------
    float
        Growth of the draw length [m a month].

    References
    ----------
    .. [1] tanner-davies
    .. [2] draw-growth
    """
    return height_velocity / HEIGHT_TO_DRAW
