"""Searches down from a draw that is too long to the longest that is not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeVar

from drawmark.fitting import limits
from drawmark.rules.model import PRECEDENCE

Told = TypeVar("Told")
DOUBT: Final = PRECEDENCE["indeterminate"]
STOP: Final = PRECEDENCE["stop"]
PARTS: Final = 8
"""Between so many draws a longest one is looked for."""
_ROUNDS: Final = 24


def search_by_length(
    ask: Callable[[float], tuple[float, Told]], draw: float, least: float
) -> tuple[float | None, Told]:
    """Step down by what the arrow lacks, until it lacks nothing.

    Nearly all floors grow with the draw, one for one, so that one step meets the edge. Where a
    floor jumps or grows faster, a step goes too far down, and the edge is sought on the way back.
    `ask` tells how much length lacks at a draw [m], and something to give back. Given back is the
    draw, None where none was met [m], and what was told there or at the last that was tried.
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


def search_by_verdict(
    ask: Callable[[float], tuple[int, Told]], draw: float, least: float
) -> tuple[float | None, bool, Told | None]:
    """Shorten a draw until no rule stops the arrow or leaves it in doubt.

    What a rule has against a draw it has as a rule against every longer one: a bow pushes harder
    the further it is drawn. `ask` tells the precedence of the verdict at a draw, and something to
    give back. Given back is the longest draw at which the arrow may be shot, or is at least not
    stopped, None where all are [m]; whether it is in doubt; what was told of a draw too long.
    """
    probes = [draw - (draw - least) * part / PARTS for part in range(PARTS + 1)]
    asked: list[tuple[int, Told]] = []
    for probe in probes:
        asked.append(ask(probe))
        if asked[-1][0] < DOUBT:
            break
    bound = DOUBT if asked[-1][0] < DOUBT else STOP
    at = next((place for place, (severity, _) in enumerate(asked) if severity < bound), None)
    if at is None:
        return None, False, asked[0][1]
    if at == 0:
        return draw, bound == STOP, asked[0][1] if bound == STOP else None
    low, high, told = probes[at], probes[at - 1], asked[at - 1][1]
    while high - low > limits.TOLERANCE / 2:
        middle = (low + high) / 2
        severity, said = ask(middle)
        if severity < bound:
            low = middle
        else:
            high, told = middle, said
    # What is told of it may be more by the tolerance, since lengths that differ by less are one.
    return max(least, low - limits.TOLERANCE), bound == STOP, told
