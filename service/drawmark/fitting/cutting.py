"""The next cut, decided from the physics and from what has been shot so far.

A cut cannot be undone, so the plan takes the largest cut whose chance of going past the ideal
by more than a tolerance stays within the stated risk, and never one beyond the best estimate.
Both measures of equivalent spine are asked; where they differ the safer answer stands.

The chance stated is right only if the assumptions of `ideal` hold; it has been compared with
a simulation, never with arrows.

References
----------
.. [1] cut-policy
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from drawmark.fitting import fields, limits
from drawmark.fitting.columns import Column
from drawmark.fitting.ideal import Coordinate, Posterior, infer_ideal
from drawmark.fitting.offsets import Evidence

Decision = Literal[
    "cut", "shoot_again", "stop_here", "already_too_stiff", "at_the_floor", "indeterminate"
]
CUT_ENDS = ("front", "rear")
# The safer answer first: where the measures differ, the first of theirs stands.
_CAUTION: Final[tuple[Decision, ...]] = (
    "indeterminate",
    "already_too_stiff",
    "at_the_floor",
    "shoot_again",
    "stop_here",
    "cut",
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Cutting:
    """What the coach wants of a cut plan."""

    wanted_length: float | None = fields.length(
        0.30, 1.20, "Length at which to stop, set by a clicker or by wish.", default=None
    )
    target_offset: float = fields.length(
        0.0,
        0.5,
        "Offset on the weak side to stop at, finishing at the button or the draw weight.",
        default=0.0,
    )
    largest_step: float | None = fields.length(
        0.001, 0.05, "Longest piece to take off at once.", default=None
    )
    smallest_step: float = fields.length(
        0.0005,
        0.02,
        "Shortest piece worth taking off; kerf and squaring set it.",
        default=limits.SMALLEST_STEP,
    )
    cut_end: str = fields.choice(CUT_ENDS, "End of the shaft that is cut.", default="front")
    risk: float = fields.number(
        0.001, 0.2, "Chance of cutting too far that one cut may run.", default=limits.CUT_RISK
    )
    test_shafts: int = fields.whole(1, 24, "Shafts cut to find the length.", default=2)
    set_count: int = fields.whole(1, 200, "Shafts in the set, test shafts included.", default=12)
    available_points: tuple[float, ...] | None = fields.quantity(
        "mass", 0.0, 0.1, "Masses of points at hand.", default=None, fewest=1, most=40
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class IdealLength:
    """Where the ideal length is thought to lie: median and 90 % interval [m]."""

    estimate: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True, slots=True)
class MeasureDecision:
    """The decision by one measure of equivalent spine.

    Parameters
    ----------
    measure : str
        Name of the measure.
    decision : str
        What to do.
    next_length : float or None
        Arrow length after the cut [m].
    probability_too_far : float
        Chance that the next length, or the present one without a cut, is past the ideal by
        more than the tolerance.
    ideal : IdealLength
        Where the ideal length is thought to lie.
    rounds_needed : int or None
        Further rounds like the last that would settle it, where shooting again would.
    """

    measure: str
    decision: Decision
    next_length: float | None
    probability_too_far: float
    ideal: IdealLength
    rounds_needed: int | None


@dataclass(frozen=True, kw_only=True, slots=True)
class CutDecision:
    """The decision of the plan: the safer of the measures, and both beside it.

    Parameters
    ----------
    decision : str
        What to do.
    reason : str
        Why, in a sentence.
    next_length : float or None
        Arrow length after the cut [m].
    probability_too_far : float or None
        Chance of being past the ideal by more than the tolerance, by the deciding measure.
    ideal : IdealLength or None
        Where the ideal length is thought to lie, by the deciding measure.
    rounds_needed : int or None
        Further rounds like the last that would settle it.
    measures : tuple of MeasureDecision
        Each measure's own decision.
    measures_differ : bool
        True where the measures would decide differently.
    """

    decision: Decision
    reason: str
    next_length: float | None = None
    probability_too_far: float | None = None
    ideal: IdealLength | None = None
    rounds_needed: int | None = None
    measures: tuple[MeasureDecision, ...] = ()
    measures_differ: bool = False


def coordinate_lengths(lengths: Sequence[float]) -> Column:
    """Arrow lengths at which the plan needs the physics coordinate.

    Parameters
    ----------
    lengths : sequence of float
        Every length shot, and the present one [m].

    Returns
    -------
    ndarray
        Rising lengths [m], from well below the shortest to above the longest.

    References
    ----------
    .. [1] cut-prior
    """
    low = max(min(lengths) - limits.IDEAL_REACH_BELOW, limits.SHORTEST_CONSIDERED)
    high = max(lengths) + limits.IDEAL_REACH_ABOVE
    return np.linspace(low, high, math.ceil((high - low) / limits.COORDINATE_STEP) + 1)


def find_contradiction(evidence: Sequence[Evidence]) -> str | None:
    """Tell why rounds cannot stand together, if they cannot.

    A longer arrow is weaker, so offsets must not fall as length rises; the misfit of the best
    rising course is compared with the noise. One wild round is not enough to contradict.

    Parameters
    ----------
    evidence : sequence of Evidence
        Rounds of one setup.

    Returns
    -------
    str or None
        The reason in a sentence.

    References
    ----------
    .. [1] cut-policy
    """
    if any(abs(each.offset) > limits.ABSURD_OFFSET for each in evidence):
        return "an offset is too large to be a matter of length: look for contact or a wrong unit"
    blocks: list[tuple[float, float]] = []
    members: list[list[Evidence]] = []
    for length in sorted({each.length for each in evidence}):
        group = [each for each in evidence if each.length == length]
        weight = sum(each.deviation**-2 for each in group)
        mean = sum(each.offset * each.deviation**-2 for each in group) / weight
        while blocks and blocks[-1][0] > mean:
            other, more = blocks.pop()
            group = members.pop() + group
            mean = (mean * weight + other * more) / (weight + more)
            weight += more
        blocks.append((mean, weight))
        members.append(group)
    misfit = sum(
        min(((each.offset - mean) / each.deviation) ** 2, 0.75 * limits.CONTRADICTION)
        for (mean, _), group in zip(blocks, members, strict=True)
        for each in group
    )
    spare = len(evidence) - len(blocks)
    if misfit - spare > limits.CONTRADICTION:
        return (
            "offsets do not fall as the arrow gets shorter by more than the groups explain: "
            "a very weak shaft may touch the bow and read false"
        )
    return None


def _round_up(length: float, increment: float | None) -> float:
    if not increment:
        return length
    return math.ceil((length - limits.TOLERANCE) / increment) * increment


def _next_length(
    posterior: Posterior, present: float, lowest: float, options: Cutting, increment: float | None
) -> float:
    largest = options.largest_step or limits.LARGEST_STEP
    safe = posterior.quantile(1 - options.risk) - limits.CUT_TOLERANCE
    wish = max(safe, posterior.quantile(0.5), lowest, present - largest)
    return min(_round_up(wish, increment), present)


def _is_worth(cut: float, options: Cutting) -> bool:
    return not limits.shorter(cut, options.smallest_step)


def count_rounds(
    posterior: Posterior,
    last: Evidence,
    present: float,
    lowest: float,
    options: Cutting,
    increment: float | None = None,
) -> int | None:
    """Further rounds like the last after which a cut would be allowed, if they go as expected.

    Parameters
    ----------
    posterior : Posterior
        What is known now.
    last : Evidence
        The last round, whose noise the further ones would have [m, rad].
    present : float
        Present arrow length [m].
    lowest : float
        Shortest length allowed [m].
    options : Cutting
        What the coach wants.
    increment : float or None
        Increment of the saw [m].

    Returns
    -------
    int or None
        Number of rounds; None where many would not settle it.
    """
    expected = posterior.expected_offset(present)
    rounds = 1
    while rounds <= limits.MOST_FURTHER_ROUNDS:
        further = Evidence(
            length=present, offset=expected, deviation=last.deviation / math.sqrt(rounds)
        )
        after = _next_length(posterior.sharpen(further), present, lowest, options, increment)
        if _is_worth(present - after, options):
            return rounds
        rounds += 1 if rounds < 4 else 2
    return None


def _decide_by(
    coordinate: Coordinate,
    evidence: Sequence[Evidence],
    present: float,
    lowest: float,
    options: Cutting,
    increment: float | None,
) -> MeasureDecision:
    posterior = infer_ideal(evidence, coordinate)
    following = _next_length(posterior, present, lowest, options, increment)
    left = present - posterior.quantile(0.5)
    past = posterior.chance_above(present + limits.CUT_TOLERANCE)
    decision: Decision
    next_length: float | None = None
    rounds: int | None = None
    if past >= limits.TOO_STIFF_CHANCE:
        decision = "already_too_stiff"
    elif _is_worth(present - following, options):
        decision, next_length = "cut", following
        past = posterior.chance_above(following + limits.CUT_TOLERANCE)
    elif abs(left) <= limits.CLOSE_ENOUGH:
        decision = "stop_here"
    elif not _is_worth(present - lowest, options):
        decision = "at_the_floor"
    else:
        rounds = count_rounds(posterior, evidence[-1], present, lowest, options, increment)
        gain = abs(left) - limits.CLOSE_ENOUGH
        if rounds is None or rounds * limits.ROUND_WORTH > gain:
            decision, rounds = "stop_here", None
        else:
            decision = "shoot_again"
    return MeasureDecision(
        measure=coordinate.name,
        decision=decision,
        next_length=next_length,
        probability_too_far=past,
        ideal=IdealLength(
            estimate=posterior.quantile(0.5),
            low=posterior.quantile(0.05),
            high=posterior.quantile(0.95),
        ),
        rounds_needed=rounds,
    )


_REASONS: Final[dict[Decision, str]] = {
    "cut": "the shots leave the arrow long by more than their noise",
    "shoot_again": "the noise is too large for a cut: more shots first",
    "stop_here": "what is left is smaller than a cut or further shots would win: finish at the "
    "button or the draw weight",
    "already_too_stiff": "the shots read stiff: cutting makes it worse",
    "at_the_floor": "the arrow may not get shorter",
    "indeterminate": "the shots cannot be read",
}


def decide_cut(
    evidence: Sequence[Evidence],
    coordinates: Sequence[Coordinate],
    *,
    present: float,
    floor: float,
    options: Cutting,
    target_angle: float = 0.0,
    increment: float | None = None,
) -> CutDecision:
    """Decide what to do next with the arrow.

    Parameters
    ----------
    evidence : sequence of Evidence
        Rounds of the present setup; one at least.
    coordinates : sequence of Coordinate
        The physics coordinate by each measure, over `coordinate_lengths`.
    present : float
        Present arrow length [m].
    floor : float
        Minimum safe length, local rules included [m].
    options : Cutting
        What the coach wants.
    target_angle : float
        Offset over distance to stop at, on the weak side [rad].
    increment : float or None
        Increment of the saw [m].

    Returns
    -------
    CutDecision
        What to do, and by which measure.

    Raises
    ------
    ValueError
        If there is no evidence, or a length lies outside a coordinate's range.

    References
    ----------
    .. [1] cut-policy
    """
    contradiction = find_contradiction(evidence)
    if contradiction is not None:
        return CutDecision(decision="indeterminate", reason=contradiction)
    lowest = max(floor, options.wanted_length or floor)
    aimed = [
        Evidence(length=e.length, offset=e.offset - target_angle, deviation=e.deviation)
        for e in evidence
    ]
    measures = tuple(
        _decide_by(coordinate, aimed, present, lowest, options, increment)
        for coordinate in coordinates
    )
    safer = min(measures, key=lambda m: (_CAUTION.index(m.decision), -(m.next_length or 0.0)))
    lengths = [m.next_length or present for m in measures]
    tell_apart = max(increment or 0.0, options.smallest_step)
    return CutDecision(
        decision=safer.decision,
        reason=_REASONS[safer.decision],
        next_length=safer.next_length,
        probability_too_far=safer.probability_too_far,
        ideal=safer.ideal,
        rounds_needed=safer.rounds_needed,
        measures=measures,
        measures_differ=len({m.decision for m in measures}) > 1
        or limits.longer(max(lengths) - min(lengths), tell_apart),
    )
