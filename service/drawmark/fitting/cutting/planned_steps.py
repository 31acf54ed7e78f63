"""Cuts planned before any shot: steps that get shorter, and how many shafts to cut now."""

from __future__ import annotations

from dataclasses import dataclass

from drawmark.fitting import limits
from drawmark.fitting.cutting.saw_limits import Cutting, SawLimits


@dataclass(frozen=True, kw_only=True, slots=True)
class Shafts:
    """How many shafts of the set are cut now.

    Parameters
    ----------
    test : int
        Shafts cut step by step.
    waiting : int
        Shafts that follow once two rounds agree.
    uncut : int
        Shafts of those waiting that stay uncut to the last; 0 for a set of one.
    """

    test: int
    waiting: int
    uncut: int


def plan_steps(
    *,
    present: float,
    goal: float,
    floor: float,
    options: Cutting,
    increment: float | None = None,
) -> list[float]:
    """Plan cuts before any shot, each at most a share of what is left.

    Parameters
    ----------
    present : float
        Present arrow length [m].
    goal : float
        Recommended length; a wanted length in the options comes first [m].
    floor : float
        Minimum safe length, local rules included [m].
    options : Cutting
        What the coach wants.
    increment : float or None
        Increment of the saw [m].

    Returns
    -------
    list of float
        Arrow lengths at which to stop and shoot, in order; none where the arrow is at its goal
        already [m].

    References
    ----------
    .. [1] cut-policy
    """
    lowest = max(floor, goal if options.wanted_length is None else options.wanted_length)
    largest = options.largest_step or limits.LARGEST_BLIND_STEP
    lengths: list[float] = []
    while True:
        saw = SawLimits(present=present, lowest=lowest, options=options, increment=increment)
        end = saw.round_up(lowest)
        if not saw.is_worth(end):
            return lengths
        left = present - end
        piece = min(max(left * limits.STEP_SHARE, options.smallest_step), largest, left)
        if left - piece < options.smallest_step and left <= largest:
            piece = left
        length = saw.round_up(present - piece)
        if not limits.shorter(length, present):
            length = end if left <= largest else present - piece
        lengths.append(length)
        present = length


def share_shafts(options: Cutting) -> Shafts:
    """Count the shafts to cut now; where there are two or more, one stays uncut to the last.

    Parameters
    ----------
    options : Cutting
        What the coach wants.

    Returns
    -------
    Shafts
        Test shafts, those that wait and the one kept uncut.
    """
    test = max(1, min(options.test_shafts, options.set_count - 1))
    waiting = options.set_count - test
    return Shafts(test=test, waiting=waiting, uncut=min(1, waiting))
