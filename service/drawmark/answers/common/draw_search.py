"""Searches down from a draw that is too long to the longest that is not."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping
from typing import Final, TypeAlias, TypeVar

from drawmark.fitting import limits
from drawmark.rules.model import PRECEDENCE

Result = TypeVar("Result")
Gaps: TypeAlias = Mapping[tuple[str, str], float]
"""By plugin and rule, how far a figure is beyond its limit."""
DOUBT: Final = PRECEDENCE["indeterminate"]
STOP: Final = PRECEDENCE["stop"]
PARTS: Final = 8
"""The range of draws is probed in this many parts."""
_ROUNDS: Final = 24
_GUESSES: Final = 9


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
    ask: Callable[[float], tuple[int, Result]],
    draw: float,
    least: float,
    gaps_of: Callable[..., Gaps] = lambda result: {},
) -> tuple[float | None, bool, Result | None]:
    """Shorten a draw until no rule stops the arrow or leaves it in doubt.

    A rule that is against a draw is, as a rule, against every longer one: a bow pushes harder the
    further it is drawn. `ask` gives the precedence of the verdict at a draw, and a result;
    `gaps_of` a result gives what is against the draw, if figures tell all of it. Returned are the
    longest draw at which the arrow may be shot or is at least not stopped, None if every draw is
    stopped [m]; whether it is in doubt; and the result of a draw that is too long.
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
    before, last = ((probes[place], gaps_of(asked[place][1])) for place in (max(at - 2, 0), at - 1))
    for turn in itertools.count():
        if high - low <= limits.TOLERANCE / 2:
            break
        middle = (low + high) / 2
        if turn < _GUESSES and turn % 3 < 2:
            # Just below where the limits are met, just above, then in the middle again.
            nudge = limits.TOLERANCE / 5 * (1 if turn % 3 else -1)
            guess = _crossing(before, last) + nudge
            middle = guess if low < guess < high else middle
        severity, said = ask(middle)
        if severity < bound:
            low = middle
        else:
            high, result = middle, said
            before, last = last, (middle, gaps_of(said))
    # Step back by the tolerance: lengths that differ by less count as the same.
    return max(least, low - limits.TOLERANCE), bound == STOP, result


def _crossing(first: tuple[float, Gaps], last: tuple[float, Gaps]) -> float:
    """Give the draw at which all gaps are closed, on straight lines; nan where none shows it."""
    (beyond, wide), (draw, gaps) = first, last
    ends = [
        draw - gap * (beyond - draw) / (wide[key] - gap) if wide.get(key, gap) != gap else math.nan
        for key, gap in gaps.items()
    ]
    return min(ends) if ends and not any(map(math.isnan, ends)) else math.nan
