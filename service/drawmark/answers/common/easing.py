"""The search for a shorter draw where an arrow is long enough and still may not be shot."""

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


def ease(
    ask: Callable[[float], tuple[int, Told]], draw: float, least: float
) -> tuple[float | None, bool, Told | None]:
    """Shorten a draw until no rule stops the arrow or leaves it in doubt.

    What a rule has against a draw it has as a rule against every longer one: a bow pushes harder
    the further it is drawn.

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
