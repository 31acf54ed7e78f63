"""The decision of a cut plan: its words, the cuts it leads to, and why."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from drawmark.answers.common.advice import no_length_reason
from drawmark.answers.cutting.candidates import Candidate, Survey
from drawmark.fitting import limits
from drawmark.fitting.cutting.next_cut import CutDecision, Decision
from drawmark.fitting.cutting.saw_limits import Cutting

_DOUBT: Final = (
    "A rule that may require a longer arrow could not be evaluated: see `unevaluated`. Do not cut."
)
FLOOR: Final = "The arrow is at its minimum safe length. Do not cut it any shorter."
_RECOMMENDED: Final = (
    "The arrow is no longer than its recommended length. See `remedies`, or give `wanted_length` "
    "to go below it."
)
_CLICKER: Final = "Do not cut the arrow any shorter. Its tip would no longer reach the clicker."
NOT_SHOT: Final = "The fit check does not let this arrow be shot: see the findings."
NOT_SHORTER: Final = (
    "Do not cut the arrow any shorter. The fit check would not let it be shot: see `blocked_at`."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """A decision, and the cuts it leads to.

    Parameters
    ----------
    decided : CutDecision
        What to do.
    steps : tuple of Candidate
        The arrow after each cut, in order.
    more_steps : int
        Cuts beyond those listed.
    doubt : Candidate or None
        The arrow at a length about which a rule could not be asked.
    blocked : Candidate or None
        The arrow at the first length beyond the cuts at which it could not be shot.
    """

    decided: CutDecision
    steps: tuple[Candidate, ...] = ()
    more_steps: int = 0
    doubt: Candidate | None = None
    blocked: Candidate | None = None


def without_cut(decision: Decision, reason: str) -> Plan:
    """Decide without any cut."""
    return Plan(decided=CutDecision(decision=decision, reason=reason))


def leave_in_doubt(candidate: Candidate) -> Plan:
    """Advise nothing, because a rule could not be evaluated."""
    return replace(without_cut("indeterminate", _DOUBT), doubt=candidate)


def end_of_cuts(survey: Survey, options: Cutting) -> tuple[float, str]:
    """Give the length [m] below which shots lead to no cut, and the reason there."""
    present, lowest, figure = survey.candidates.present, survey.lowest, survey.window.figure
    at_floor = bool(limits.shorter(present - lowest, options.smallest_step))
    if options.wanted_length is not None or at_floor:
        return lowest, floor_reason(survey)
    if figure is None:
        return present, no_length_reason(survey.there.outcome, survey.window)
    return max(figure, lowest), _RECOMMENDED


def floor_reason(survey: Survey) -> str:
    """Say why the arrow must not be cut shorter."""
    return _CLICKER if survey.by_clicker else FLOOR
