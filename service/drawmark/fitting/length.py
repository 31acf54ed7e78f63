"""How long an arrow must be, should be, and how far it may be drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, maximum
from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Arrow, Bow


@dataclass(frozen=True, slots=True)
class FloorTerm:
    """A term of a floor: its name, its value [m] and the key of its source."""

    name: str
    value: Real
    source: str


@dataclass(frozen=True, slots=True)
class CoreFloor:
    """A floor of the usable length.

    Parameters
    ----------
    id : str
        `bow-back`, `rest-retention` or `hand`.
    terms : tuple of FloorTerm
        What it is the sum of.
    """

    id: str
    terms: tuple[FloorTerm, ...]

    @property
    def length(self) -> Real:
        """Least usable length [m]."""
        total: Real = 0.0
        for term in self.terms:
            total = total + term.value
        return total


@dataclass(frozen=True, slots=True)
class Window:
    """Lengths that serve, and one of them.

    Parameters
    ----------
    shortest, longest : float
        Ends of the window [m]; empty where shortest is beyond longest.
    figure : float or None
        The length to choose [m]; None in an empty window.
    """

    shortest: float
    longest: float
    figure: float | None

    @property
    def empty(self) -> bool:
        """Tell whether no length serves."""
        return self.figure is None


def floors_of(facts: Facts) -> tuple[CoreFloor, ...]:
    """List the floors of the usable length that a draw and its control ask for.

    Parameters
    ----------
    facts : Facts
        Draw, allowance, back and rest [m].

    Returns
    -------
    tuple of CoreFloor
        The floors; the minimum is the largest.

    References
    ----------
    .. [1] margin-one-inch
    .. [2] prediction-interval
    .. [3] project-margin
    """
    draw = [FloorTerm("draw to the pivot point", facts.draw, "amo-draw-length")]
    if facts.estimated:
        draw.append(FloorTerm("draw is an estimate", limits.ARM_SPAN_MARGIN, "project-margin"))
    if facts.control in ("none", "settled"):
        draw.append(FloorTerm("growth allowance", facts.growth, "request"))
    spread = FloorTerm(
        "spread of the draw",
        facts.allowance,
        "prediction-interval" if facts.control == "none" else "project-margin",
    )
    rest = (
        *draw,
        spread,
        FloorTerm("rest position", facts.rest, "request"),
        FloorTerm("kept on the rest", limits.RETENTION_MARGIN, "project-margin"),
    )
    floors = (
        CoreFloor("rest-retention", rest),
        CoreFloor("hand", (*draw, spread)),
    )
    if facts.control != "none":
        return floors
    overhang = FloorTerm(
        "past the back of the bow",
        maximum(limits.LEAST_OVERHANG, facts.allowance),
        "margin-one-inch",
    )
    back = FloorTerm("back of the bow", facts.back, "amo-draw-length")
    return (CoreFloor("bow-back", (*draw, back, overhang)), *floors)


def minimum_of(facts: Facts) -> Real:
    """Give the minimum safe arrow length of the core alone.

    Parameters
    ----------
    facts : Facts
        Draw, allowance, back, rest and collar [m].

    Returns
    -------
    float or column
        Largest floor and the collar [m].
    """
    least: Real = 0.0
    for floor in floors_of(facts):
        least = maximum(least, floor.length)
    return least + facts.sleeve


def round_up(length: float, increment: float | None) -> float:
    """Round a length up to the saw's increment.

    Parameters
    ----------
    length : float
        Length [m].
    increment : float or None
        Saw's increment [m]; None leaves the length as it is.

    Returns
    -------
    float
        Length on the saw's scale, never shorter by more than the tolerance [m].
    """
    if not increment:
        return length
    return max(length, math.ceil((length - limits.TOLERANCE) / increment) * increment)


def clicker_window(facts: Facts, bow: Bow, exposed: Real) -> tuple[Real, Real]:
    """Give the arrow lengths whose tip can leave the clicker's blade.

    Parameters
    ----------
    facts : Facts
        Mean draw [m].
    bow : Bow
        With its clicker range [m].
    exposed : float or column
        Exposed length of the point [m].

    Returns
    -------
    tuple of float or column
        Shortest and longest arrow length [m].
    """
    assert bow.clicker_range is not None
    return (
        facts.mean_draw + bow.clicker_range.near - exposed,
        facts.mean_draw + bow.clicker_range.far - exposed,
    )


def window_of(
    facts: Facts,
    bow: Bow,
    exposed: float | None,
    minimum: float,
    ceiling: float | None = None,
    increment: float | None = None,
) -> Window:
    """Give the recommended lengths and the figure among them.

    Parameters
    ----------
    facts : Facts
        Draw, growth and back [m].
    bow : Bow
        The bow; with a clicker that counts, its range replaces the usual window [m].
    exposed : float or None
        Exposed length of the point [m].
    minimum : float
        Minimum safe arrow length, local rules included [m].
    ceiling : float or None
        Greatest arrow length that a local rule allows [m].
    increment : float or None
        Saw's increment [m].

    Returns
    -------
    Window
        The window; empty where no length serves.

    References
    ----------
    .. [1] margin-one-inch
    """
    if facts.control == "clicker" and exposed is not None:
        low, high = (float(end) for end in clicker_window(facts, bow, exposed))
        figure = (low + high) / 2
    else:
        base = float(facts.draw + facts.growth + facts.back)
        low = base + limits.LEAST_OVERHANG
        high = base + limits.GREATEST_OVERHANG
        figure = base + limits.USUAL_OVERHANG
        # What lies below the minimum moves up to it.
        high = max(high, minimum)
    shortest = max(low, minimum)
    longest = high if ceiling is None else min(high, ceiling)
    if limits.longer(shortest, longest):
        return Window(shortest, longest, None)
    longest = max(shortest, longest)
    figure = min(max(figure, shortest), longest)
    rounded = round_up(figure, increment)
    if limits.longer(rounded, longest) and increment:
        below = math.floor((longest + limits.TOLERANCE) / increment) * increment
        rounded = figure if limits.shorter(below, shortest) else below
    return Window(shortest, longest, rounded)


def nearest_safe_blade(facts: Facts, exposed: float, minimum: float) -> float:
    """Give the least x of the clicker's blade at which the arrow is long enough.

    Parameters
    ----------
    facts : Facts
        Mean draw [m].
    exposed : float
        Exposed length of the point [m].
    minimum : float
        Minimum safe arrow length [m].

    Returns
    -------
    float
        Position of the blade's edge from the pivot point: rest, spread, half an inch and the
        exposed length, where no other floor asks for more [m].
    """
    return minimum - float(facts.mean_draw) + exposed


def longest_draw_of(facts: Facts, arrow: Arrow) -> Real:
    """Give the longest draw, to the pivot point, for which an arrow is long enough.

    Every core floor grows with the draw, one for one.

    Parameters
    ----------
    facts : Facts
        Of any draw, with the same control and allowance [m].
    arrow : Arrow
        With its length [m].

    Returns
    -------
    float or column
        Draw to the pivot point [m].
    """
    assert arrow.length is not None
    return facts.draw + arrow.length - minimum_of(facts)
