"""What to do next with the arrow: from the rules alone before any shot, then from the shots."""

from __future__ import annotations

from typing import Final

from drawmark.answers.cutting.candidates import Survey
from drawmark.answers.cutting.cut_decision import Plan, leave_in_doubt, without_cut
from drawmark.answers.cutting.first_plan import plan_first
from drawmark.answers.cutting.next_plan import plan_next
from drawmark.fitting import limits
from drawmark.fitting.cutting.offsets import Reading
from drawmark.fitting.cutting.saw_limits import Cutting

_ESTIMATE: Final = (
    "The draw is only an estimate from the arm span. Measure the draw before any cut."
)
_UNSAFE_WANTED: Final = (
    "The wanted length is too short to be safe, or does not reach the clicker: see `minimum`. "
    "Check the figure. Nothing is cut to a length that nobody asked for."
)
_SHORT: Final = "The arrow is shorter than the minimum safe length. Do not draw it."


def decide(
    survey: Survey, reading: Reading | None, options: Cutting, increment: float | None
) -> Plan:
    """Decide on the next cut, never past a floor and never where one is in doubt."""
    candidates, here = survey.candidates, survey.here
    if not here.outcome.determinate:
        return leave_in_doubt(here)
    if here.outcome.facts.estimated:
        return without_cut("indeterminate", _ESTIMATE)
    if limits.shorter(candidates.present, here.minimum):
        return without_cut("at_the_floor", _SHORT)
    wanted = options.wanted_length
    if wanted is not None and limits.shorter(wanted, survey.lowest):
        return without_cut("at_the_floor", _UNSAFE_WANTED)
    if reading is None:
        return plan_first(survey, options, increment)
    return plan_next(survey, reading, options, increment)
