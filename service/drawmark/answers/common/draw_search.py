"""Searches down from a draw that is too long to the longest that is not."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping
from typing import Any, Final, NamedTuple, TypeVar

from drawmark.fitting import limits
from drawmark.rules.model import PRECEDENCE

Result = TypeVar("Result")
DOUBT: Final = PRECEDENCE["indeterminate"]
STOP: Final = PRECEDENCE["stop"]
PARTS: Final = 8
"""The range of draws is probed in this many parts."""
_ROUNDS: Final = 24
_GUESSES: Final = 9
_NEAR: Final = 16
_NUDGE: Final = limits.TOLERANCE / 5


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


class Told(NamedTuple):
    """Figures that findings tell, by plugin and rule.

    Parameters
    ----------
    measured : mapping
        What was measured.
    limits : mapping
        Limits of those that decide the verdict; empty where one of these tells no figures.
    """

    measured: Mapping[tuple[str, str], float]
    limits: Mapping[tuple[str, str], float]


class _Probe(NamedTuple):
    """A draw that was asked about: the precedence of its verdict, a result and its figures."""

    draw: float
    severity: int
    result: Any
    told: Told


def search_by_verdict(
    ask: Callable[[float], tuple[int, Result]],
    draw: float,
    least: float,
    told_by: Callable[..., Told] = lambda result: Told({}, {}),
) -> tuple[float | None, bool, Result | None]:
    """Shorten a draw until no rule stops the arrow or leaves it in doubt.

    A rule that is against a draw is, as a rule, against every longer one: a bow pushes harder the
    further it is drawn. `ask` gives the precedence of the verdict at a draw, and a result;
    `told_by` a result gives its figures. Draws at which figures show that the same limit is still
    passed are not asked about. Returned are the longest draw at which the arrow may be shot or is
    at least not stopped, None if every draw is stopped [m]; whether it is in doubt; and the result
    of a draw that is too long.
    """

    def probe(at: float) -> _Probe:
        severity, result = ask(at)
        return _Probe(at, severity, result, told_by(result))

    probes = [probe(draw)]
    part = 1
    while probes[-1].severity >= DOUBT and part <= PARTS:
        probes.append(probe(draw - (draw - least) * part / PARTS))
        part += 1
        end = _crossing(*probes[-2:])
        if least < end < probes[-1].draw:
            part = max(part, math.ceil((draw - end) / (draw - least) * PARTS))
    bound = DOUBT if probes[-1].severity < DOUBT else STOP
    at = next((place for place, one in enumerate(probes) if one.severity < bound), None)
    if at is None:
        return None, False, probes[0].result
    if at == 0:
        return draw, bound == STOP, probes[0].result if bound == STOP else None
    before, beyond, below = probes[max(at - 2, 0)], probes[at - 1], probes[at]
    for turn in itertools.count():
        low, high = below.draw, beyond.draw
        if high - low <= limits.TOLERANCE / 2:
            break
        middle = (low + high) / 2
        if turn < _GUESSES and turn % 6 < 5 and beyond.told.limits:
            # Where one draw alone tells the figures, one near it shows how they change.
            ends = [
                _crossing(below, beyond),
                _crossing(before, beyond),
                high - (high - low) / _NEAR,
            ]
            guess = next(end for end in ends if not math.isnan(end))
            # Just below where the limits are met, then just above.
            guess += _NUDGE if abs(guess - low) < 2 * _NUDGE else -_NUDGE
            middle = guess if low < guess < high else middle
        asked = probe(middle)
        if asked.severity < bound:
            below = asked
        else:
            before, beyond = beyond, asked
    # Step back by the tolerance: lengths that differ by less count as the same.
    return max(least, low - limits.TOLERANCE), bound == STOP, beyond.result


def _crossing(other: _Probe, beyond: _Probe) -> float:
    """Give the draw at which all limits passed at one are met, on straight lines through another.

    nan where figures do not show it.
    """
    known = other.told
    ends = []
    for key, limit in beyond.told.limits.items():
        gap = beyond.told.measured[key] - limit
        there = known.limits.get(key, limit) if other.severity >= DOUBT else limit
        wide = known.measured.get(key, math.nan) - there
        change = (wide - gap) / (other.draw - beyond.draw) if other is not beyond else math.nan
        ends.append(beyond.draw - gap / change if change else math.nan)
    return min(ends) if ends and not any(map(math.isnan, ends)) else math.nan
