"""The next cut, decided from the physics and the shots.

A cut cannot be undone. The plan takes the largest cut whose chance of going past the ideal by
more than a tolerance stays within the stated risk, and never cuts beyond the best estimate.
It asks both measures of equivalent spine; where they differ the safer answer stands.

The chance is right only if the assumptions of `ideal_length` hold. It was compared with a
simulation, never with arrows: no published data of bare-shaft offset against arrow length was
found.

References
----------
.. [1] cut-policy
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from drawmark.fitting import limits
from drawmark.fitting.cutting.ideal_length import Posterior, infer_ideal
from drawmark.fitting.cutting.offsets import Evidence, Reading
from drawmark.fitting.cutting.round_consistency import (
    Contradiction,
    find_contradiction,
    rounds_agree,
)
from drawmark.fitting.cutting.saw_limits import Cutting, SawLimits, count_rounds
from drawmark.fitting.cutting.spine_coordinate import Coordinate, SpineMeasure

Decision = Literal[
    "cut", "shoot_again", "stop_here", "already_too_stiff", "at_the_floor", "indeterminate"
]
# Where the measures differ, the decision that stands first here wins.
_SAFEST_FIRST: Final[tuple[Decision, ...]] = (
    "indeterminate",
    "already_too_stiff",
    "at_the_floor",
    "stop_here",
    "shoot_again",
    "cut",
)
_REASONS: Final[dict[Decision, str]] = {
    "cut": "The shots show that the arrow is too long, by more than their noise.",
    "shoot_again": "The shots are too noisy to allow a cut. Shoot more first.",
    "stop_here": (
        "Another cut, or the shots to allow one, would gain too little. Finish at the button or "
        "with the draw weight."
    ),
    "already_too_stiff": (
        "The shots show that the arrow is too stiff. Do not cut it: a cut makes it stiffer."
    ),
    "at_the_floor": "Do not cut the arrow any shorter.",
}
_MEASURE: Final = (
    "Of the last round only the side is known, and that tells nothing of how far to cut. Shoot "
    "again and measure the `offset`."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class IdealLength:
    """Estimate of the ideal length.

    Parameters
    ----------
    estimate : float
        Median [m].
    low, high : float
        Ends of the 90 % interval [m].
    """

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
    decision : Decision
        What to do.
    next_length : float or None
        Arrow length after the cut [m].
    probability_too_far : float
        Chance that the next length, or the present one without a cut, is past the ideal by
        more than the tolerance.
    ideal : IdealLength
        The ideal length by this measure.
    rounds_needed : int or None
        Further rounds like the last that would allow a cut, where they are worth shooting.
    """

    measure: SpineMeasure
    decision: Decision
    next_length: float | None
    probability_too_far: float
    ideal: IdealLength
    rounds_needed: int | None


@dataclass(frozen=True, kw_only=True, slots=True)
class CutDecision:
    """The decision of the plan: that of the safer measure, and both beside it.

    Parameters
    ----------
    decision : Decision
        What to do.
    reason : str
        Why, in a sentence.
    next_length : float or None
        Arrow length after the cut [m].
    probability_too_far : float or None
        Chance of being past the ideal by more than the tolerance, by the deciding measure.
    ideal : IdealLength or None
        The ideal length by the deciding measure.
    rounds_needed : int or None
        Further rounds like the last that would allow a cut.
    shots_needed : int or None
        Bare and fletched shafts in those rounds.
    set_may_follow : bool
        True at `stop_here` after two rounds that agree: the set may be cut too.
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
    shots_needed: int | None = None
    set_may_follow: bool = False
    measures: tuple[MeasureDecision, ...] = ()
    measures_differ: bool = False


def _decide_by(
    posterior: Posterior, last: Evidence, saw: SawLimits, floor: float, *, only: bool
) -> MeasureDecision:
    following = saw.next_length(posterior)
    median = posterior.quantile(0.5)
    left = abs(saw.present - median)
    worth = (left - limits.CLOSE_ENOUGH) / limits.ROUND_WORTH
    past = posterior.probability_above(saw.present + limits.CUT_TOLERANCE)
    decision: Decision
    next_length: float | None = None
    rounds: int | None = None
    if past >= limits.TOO_STIFF_CHANCE:
        decision = "already_too_stiff"
    elif saw.is_worth(following):
        decision, next_length = "cut", following
        past = posterior.probability_above(following + limits.CUT_TOLERANCE)
    elif left <= limits.CLOSE_ENOUGH:
        decision = "stop_here"
    elif median < saw.present and not saw.is_worth(floor):
        decision = "at_the_floor"
    elif (
        saw.is_worth(saw.lowest)
        and (rounds := count_rounds(posterior, last, saw, worth)) is not None
    ):
        decision = "shoot_again"
    elif only and median < saw.present and saw.is_worth(saw.lowest):
        # One round is no reason to stop, however noisy.
        decision, rounds = "shoot_again", None
    else:
        decision, rounds = "stop_here", None
    return MeasureDecision(
        measure=posterior.coordinate.name,
        decision=decision,
        next_length=next_length,
        probability_too_far=past,
        ideal=IdealLength(
            estimate=median, low=posterior.quantile(0.05), high=posterior.quantile(0.95)
        ),
        rounds_needed=rounds,
    )


def _contradicted(found: Contradiction, shafts: int) -> CutDecision:
    rounds = found.rounds_needed
    if rounds is None:
        return CutDecision(decision="indeterminate", reason=found.reason)
    return CutDecision(
        decision="shoot_again",
        reason=found.reason,
        rounds_needed=rounds,
        shots_needed=rounds * shafts,
    )


def decide_cut(
    reading: Reading,
    coordinates: Sequence[Coordinate],
    *,
    present: float,
    floor: float,
    options: Cutting,
    increment: float | None = None,
) -> CutDecision:
    """Decide what to do next with the arrow.

    Parameters
    ----------
    reading : Reading
        What the shots say; one round at least.
    coordinates : sequence of Coordinate
        The physics coordinate by each measure, over `coordinate_lengths`.
    present : float
        Present arrow length [m].
    floor : float
        Minimum safe length, local rules included [m].
    options : Cutting
        What the coach wants.
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
    if reading.refusal is not None:
        return CutDecision(decision="indeterminate", reason=reading.refusal)
    contradiction = find_contradiction(reading.evidence, reading.hand)
    if contradiction is not None:
        return _contradicted(contradiction, reading.shafts)
    target = options.target_offset / reading.distance
    aimed = [replace(each, offset=each.offset - target) for each in reading.evidence]
    saw = SawLimits(
        present=present,
        lowest=max(floor, options.wanted_length or floor),
        options=options,
        increment=increment,
    )
    measures = tuple(
        _decide_by(infer_ideal(aimed, coordinate), aimed[-1], saw, floor, only=len(aimed) == 1)
        for coordinate in coordinates
    )
    safer = min(measures, key=lambda m: (_SAFEST_FIRST.index(m.decision), -(m.next_length or 0.0)))
    lengths = [m.next_length or present for m in measures]
    apart = max(lengths) - min(lengths) > max(increment or 0.0, options.smallest_step)
    rounds = safer.rounds_needed
    unmeasured = safer.decision == "shoot_again" and aimed[-1].sign is not None
    return CutDecision(
        decision=safer.decision,
        reason=_MEASURE if unmeasured else _REASONS[safer.decision],
        next_length=safer.next_length,
        probability_too_far=safer.probability_too_far,
        ideal=safer.ideal,
        rounds_needed=rounds,
        shots_needed=None if rounds is None else rounds * reading.shafts,
        set_may_follow=safer.decision == "stop_here" and rounds_agree(aimed, present),
        measures=measures,
        measures_differ=apart or len({m.decision for m in measures}) > 1,
    )
