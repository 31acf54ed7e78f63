"""Searches down from a draw that is too long to the longest that is not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeVar

from drawmark.fitting import limits
from drawmark.rules.model import PRECEDENCE

Result = TypeVar("Result")
DOUBT: Final = PRECEDENCE["indeterminate"]
STOP: Final = PRECEDENCE["stop"]
PARTS: Final = 8
"""The range of draws is probed in this many parts."""
_ROUNDS: Final = 24


def search_by_length(
    ask: Callable[[float], tuple[float, Result]], draw: float, least: float
) -> tuple[float | None, Result]:
    """Step down by what the arrow lacks, until it lacks nothing.

    Nearly all floors grow with the draw, one for one, so that one step meets the edge. Where a
    floor jumps or grows faster, a step goes too far down, and the edge is sought on the way back.
    `ask` gives the length that is lacking at a draw [m], and a result. Returned are the draw, None
    if none was found [m], and the result there or at the last draw that was tried.
    """
    above = draw
    lacking, result = ask(draw)
    for _ in range(_ROUNDS):
        if lacking <= limits.TOLERANCE:
            break
        if draw <= least:
            return None, result
        above, draw = draw, max(draw - lacking, least)
        lacking, result = ask(draw)
    else:
        return None, result
    sought = False
    while lacking < -limits.TOLERANCE and above - draw > limits.TOLERANCE / 2:
        sought = True
        middle = (draw + above) / 2
        there, said = ask(middle)
        if there <= limits.TOLERANCE:
            draw, lacking, result = middle, there, said
        else:
            above = middle
    # Step back by the tolerance: lengths that differ by less count as the same.
    return max(least, draw - (limits.TOLERANCE if sought else max(lacking, 0.0))), result


def search_by_verdict(
    ask: Callable[[float], tuple[int, Result]], draw: float, least: float
) -> tuple[float | None, bool, Result | None]:
    """Shorten a draw until no rule stops the arrow or leaves it in doubt.

    A rule that is against a draw is, as a rule, against every longer one: a bow pushes harder the
    further it is drawn. `ask` gives the precedence of the verdict at a draw, and a result. Returned
    are the longest draw at which the arrow may be shot or is at least not stopped, None if every
    draw is stopped [m]; whether it is in doubt; and the result of a draw that is too long.
    """
    probes = [draw - (draw - least) * part / PARTS for part in range(PARTS + 1)]
    asked: list[tuple[int, Result]] = []
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
    low, high, result = probes[at], probes[at - 1], asked[at - 1][1]
    while high - low > limits.TOLERANCE / 2:
        middle = (low + high) / 2
        severity, said = ask(middle)
        if severity < bound:
            low = middle
        else:
            high, result = middle, said
    # Step back by the tolerance: lengths that differ by less count as the same.
    return max(least, low - limits.TOLERANCE), bound == STOP, result
