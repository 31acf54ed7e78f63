"""The search down from a draw that is too long to the longest that is not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeVar

from drawmark.fitting import limits

Told = TypeVar("Told")

_ROUNDS: Final = 24


def descend(
    ask: Callable[[float], tuple[float, Told]], draw: float, least: float
) -> tuple[float | None, Told]:
    """Step down by what the arrow lacks, until it lacks nothing.

    Nearly all floors grow with the draw, one for one, so that one step meets the edge. Where a
    floor jumps or grows faster, a step goes too far down, and the edge is sought on the way back.

    Parameters
    ----------
    ask : function
        Of a draw [m]: how much length the arrow lacks there, negative where it has length to
        spare [m]; and anything that is to be known at the draw that is found.
    draw : float
        Where to start [m].
    least : float
        The shortest draw to try [m].

    Returns
    -------
    tuple
        A draw at which nothing is lacking, with either nothing to spare or a draw that lacks
        within twice `limits.TOLERANCE` above it, unless it is the start; None where none was met
        [m].
        What `ask` told there, or at the last draw that was tried.
    """
    above = draw
    lacking, told = ask(draw)
    for _ in range(_ROUNDS):
        if lacking <= limits.TOLERANCE:
            break
        if draw <= least:
            return None, told
        above, draw = draw, max(draw - lacking, least)
        lacking, told = ask(draw)
    else:
        return None, told
    sought = False
    while lacking < -limits.TOLERANCE and above - draw > limits.TOLERANCE / 2:
        sought = True
        middle = (draw + above) / 2
        there, said = ask(middle)
        if there <= limits.TOLERANCE:
            draw, lacking, told = middle, there, said
        else:
            above = middle
    # What is told of it may be more by the tolerance, since lengths that differ by less are one.
    return max(least, draw - (limits.TOLERANCE if sought else max(lacking, 0.0))), told
