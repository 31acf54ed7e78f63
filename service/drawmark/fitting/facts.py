"""What the core works out of a fitting before any rule runs."""

from __future__ import annotations

from dataclasses import dataclass

from drawmark.fitting.columns import Real


@dataclass(frozen=True, kw_only=True, slots=True)
class Facts:
    """Figures worked out of a fitting; None where what they need was not given.

    Parameters
    ----------
    draw : float or column
        Draw to the pivot point that the floors stand on: the one stated, the mean of many, or
        the longest of a few [m].
    mean_draw : float or column
        Mean draw to the pivot point [m].
    estimated : bool
        The draw is an estimate from the arm span.
    variation : float, column or None
        Standard deviation of the draw [m].
    count : float, column or None
        Number of draws behind it.
    control : str
        What ends the draw, as far as the fields show it.
    unshown : tuple of str
        Fields that the claimed control lacks; not empty means it counts as none.
    allowance : float or column
        Allowance V for the spread of the draw [m].
    growth : float or column
        Growth allowance, 0 where not given [m].
    back : float or column
        x of the back of the bow [m].
    rest : float or column
        x of the rest [m].
    sleeve : float or column
        Length of a collar that slides back over the shaft [m].
    usable_length : float, column or None
        Arrow length less the collar [m].
    draw_weight : float, column or None
        Draw weight at this archer's draw [N].
    arrow_mass : float, column or None
        Mass of the whole arrow, weighed or else summed [kg].
    front_of_centre : float, column or None
        Front of centre, measured or else from the parts [%].
    launch_load : float, column or None
        Draw weight over critical launch force [1].
    """

    draw: Real
    mean_draw: Real
    estimated: bool
    variation: Real | None
    count: Real | None
    control: str
    unshown: tuple[str, ...]
    allowance: Real
    growth: Real
    back: Real
    rest: Real
    sleeve: Real
    usable_length: Real | None
    draw_weight: Real | None
    arrow_mass: Real | None
    front_of_centre: Real | None
    launch_load: Real | None
