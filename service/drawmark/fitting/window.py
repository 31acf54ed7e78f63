"""How long an arrow should be: the window, and the figure in it."""

from __future__ import annotations

import msgspec

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, Truth, maximum, negate, where
from drawmark.fitting.columns import minimum as smaller
from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Bow
from drawmark.fitting.rounding import round_down, round_up


class Window(msgspec.Struct, frozen=True, gc=False):
    """Lengths that suit an archer, and the one to choose.

    Parameters
    ----------
    shortest, longest : float
        Ends of the window [m]; empty where shortest is beyond longest.
    figure : float or None
        The length to choose [m]; None in an empty window.
    on_saw : bool
        The saw has a mark there; true where no increment was asked for.
    cut_to : float or None
        Where to cut an arrow that is too long: at the figure, but no further than the end of a
        clicker's window [m].
    """

    shortest: float
    longest: float
    figure: float | None
    on_saw: bool = True
    cut_to: float | None = None

    @property
    def empty(self) -> bool:
        """Tell whether no length suits."""
        return self.figure is None

    def holds(self, length: float) -> bool:
        """Tell whether a length [m] lies in the window."""
        below = limits.shorter(length, self.shortest)
        return not (self.empty or below or limits.longer(length, self.longest))


def window_of(
    facts: Facts,
    bow: Bow,
    exposed: Real | None,
    minimum: float,
    ceiling: float | None = None,
    increment: float | None = None,
) -> Window:
    """Give the window of one arrow; what `windows_of` takes [m]."""
    *lengths, empty = windows_of(facts, bow, exposed, minimum, ceiling, increment)
    shortest, longest, figure = map(float, lengths)
    if empty:
        return Window(shortest, longest, None)
    on_saw = not limits.longer(round_up(figure, increment), figure)
    cut_to = figure
    if facts.control == "clicker":
        cut_to = max(figure, float(round_down(longest, increment)))
    return Window(shortest, longest, figure, bool(on_saw), cut_to)


def windows_of(
    facts: Facts,
    bow: Bow,
    exposed: Real | None,
    minimum: Real,
    ceiling: Real | None = None,
    increment: Real | None = None,
) -> tuple[Real, Real, Real, Truth]:
    """Give the recommended lengths and the figure among them, of one arrow or a column.

    Parameters
    ----------
    facts : Facts
        Draw, growth and back [m].
    bow : Bow
        The bow; with a clicker that counts, its range replaces the usual window [m].
    exposed : float, column or None
        Exposed length of the point [m].
    minimum : float or column
        Minimum safe arrow length, local rules included [m].
    ceiling : float, column or None
        Greatest arrow length that a local rule allows [m].
    increment : float, column or None
        Saw's increment [m].

    Returns
    -------
    tuple
        Shortest and longest length and the figure between them [m], and whether the window is
        empty, so that the figure means nothing.

    References
    ----------
    .. [1] margin-one-inch
    """
    if facts.control == "clicker" and exposed is not None:
        low, high = clicker_window(facts, bow, exposed)
        # Near the far end: a blade can be moved in, and an arrow not be made longer.
        figure = (smaller(minimum + limits.CAUTION_BAND[facts.experience], high) + high) / 2
    else:
        base = facts.draw + facts.growth + facts.back
        low = base + limits.LEAST_OVERHANG
        # The window moves up to the minimum, and the figure past the caution above it.
        clear = minimum + limits.CAUTION_BAND[facts.experience]
        figure = maximum(base + limits.OVERHANG[facts.experience], clear)
        high = maximum(base + limits.GREATEST_OVERHANG[facts.experience], figure)
        # Where the saw has a mark in it, the window reaches the next: rather too long than short.
        marked = negate(limits.shorter(round_down(high, increment), maximum(low, minimum)))
        high = where(marked, maximum(high, round_up(figure, increment)), high)
    shortest = maximum(low, minimum)
    longest = high if ceiling is None else smaller(high, ceiling)
    empty = limits.longer(shortest, longest)
    longest = where(empty, longest, maximum(shortest, longest))
    figure = smaller(maximum(figure, shortest), longest)
    if increment is not None:
        rounded = round_up(figure, increment)
        below = round_down(longest, increment)
        fitting = where(limits.shorter(below, shortest), figure, below)
        figure = where(limits.longer(rounded, longest), fitting, rounded)
    return shortest, longest, figure, empty


def clicker_window(facts: Facts, bow: Bow, exposed: Real) -> tuple[Real, Real]:
    """Give the arrow lengths whose tip can leave the clicker's blade.

    Parameters
    ----------
    facts : Facts
        Draw to the pivot point [m].
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
        facts.draw + bow.clicker_range.near - exposed,
        facts.draw + bow.clicker_range.far - exposed,
    )


def clicker_slack(facts: Facts, bow: Bow, exposed: Real, length: Real) -> Real:
    """Give how much longer a draw may get before the tip passes the blade's nearest place.

    Parameters
    ----------
    facts : Facts
        Draw to the pivot point [m].
    bow : Bow
        With its clicker range [m].
    exposed, length : float or column
        Exposed length of the point, and arrow length [m].

    Returns
    -------
    float or column
        Growth of the draw up to there [m].
    """
    return length - clicker_window(facts, bow, exposed)[0]


def nearest_safe_blade(facts: Facts, exposed: float, minimum: float) -> float:
    """Give the nearest place of the clicker's blade at which the arrow is long enough.

    Parameters
    ----------
    facts : Facts
        Draw to the pivot point [m].
    exposed : float
        Exposed length of the point [m].
    minimum : float
        Minimum safe arrow length [m].

    Returns
    -------
    float
        Position of the blade's edge from the pivot point [m].
    """
    return minimum - float(facts.draw) + exposed
