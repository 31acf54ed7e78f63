"""How fast a junior's draw may lengthen.

References
----------
.. [1] tanner-davies
.. [2] abbassi-1998
.. [3] draw-growth
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from drawmark.fitting.limits import HEIGHT_TO_DRAW, JUNIOR_HEIGHT_VELOCITY

MONTHS_A_YEAR: Final = 12


@dataclass(frozen=True, kw_only=True, slots=True)
class HeightVelocity:
    """How fast boys of one age grow: three centiles.

    Parameters
    ----------
    age : float
        Age [years].
    low : float
        3rd centile [m a year].
    median : float
        50th centile [m a year].
    high : float
        97th centile [m a year].
    """

    age: float
    low: float
    median: float
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
