"""The search for a shorter draw where an arrow is long enough and still may not be shot."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeVar

from drawmark.fitting import limits
from drawmark.rules.model import PRECEDENCE

Told = TypeVar("Told")

DOUBT: Final = PRECEDENCE["indeterminate"]
STOP: Final = PRECEDENCE["stop"]


def ease(
    ask: Callable[[float], tuple[int, Told]], draw: float, least: float
) -> tuple[float | None, bool, Told | None]:
    """Shorten a draw until no rule stops the arrow or leaves it in doubt.

    What a rule has against a draw it has against every longer one: a bow pushes harder the
    further it is drawn.

    Parameters
    ----------
    ask : function
        Of a draw [m]: the precedence of the verdict there, and anything that is to be known of a
        draw that is too long.
    draw : float
        Where to start [m].
    least : float
        The shortest draw to try [m].

    Returns
    -------
    tuple
        The longest draw at which the arrow may be shot, less `limits.TOLERANCE`; where every draw
        is in doubt the longest that is not stopped; None where all are stopped [m]. Whether it is
        in doubt. What `ask` told of a draw that is too long, None where the start is not.
    """
    severity, told = ask(draw)
    if severity < DOUBT:
        return draw, False, None
    lowest, _ = ask(least)
    bound = DOUBT if lowest < DOUBT else STOP
    if lowest >= bound:
        return None, False, told
    low, high = (draw, draw) if severity < bound else (least, draw)
    while high - low > limits.TOLERANCE / 2:
        middle = (low + high) / 2
        severity, said = ask(middle)
        if severity < bound:
            low = middle
        else:
            high, told = middle, said
    if low < draw:
        # What is told of it may be so much more, since lengths that differ by less are one.
        low = max(least, low - limits.TOLERANCE)
    return low, bound == STOP, told
