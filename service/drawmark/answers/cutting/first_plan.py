"""The first plan: short steps to the recommended or wanted length, from the rules alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from drawmark.answers.common.advice import advise
from drawmark.answers.cutting.candidates import Candidate, Survey
from drawmark.answers.cutting.cut_decision import (
    FLOOR,
    NOT_SHORTER,
    NOT_SHOT,
    Plan,
    floor_reason,
    leave_in_doubt,
    without_cut,
)
from drawmark.fitting import limits
from drawmark.fitting.cutting.next_cut import CutDecision, Decision
from drawmark.fitting.cutting.planned_steps import plan_steps
from drawmark.fitting.cutting.saw_limits import Cutting
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.mechanics.arrow_validation import has_stations
from drawmark.fitting.mechanics.spine import MOST_TAPERED_STEPS
from drawmark.fitting.rounding import round_down

MOST_STEPS: Final = 24
_OTHER_SHAFT: Final = (
    "The fit check does not let the arrow be shot at this length. Use another shaft or a lighter "
    "bow. "
)
_UNSHOT: Final = "Nothing has been shot yet. Shoot bare shafts beside fletched arrows first. "
_PRESENT: Final = "The arrow is not longer than wanted. There is nothing to cut."
_NO_FURTHER: Final = "Cut in these steps and no further: see `blocked_at`. Shoot after each step."
_BEFORE: Final = "The arrow is longer than wanted. Cut in these steps, and shoot after each."


def plan_first(survey: Survey, options: Cutting, increment: float | None) -> Plan:
    """Plan cuts before any shot, each to a length that every rule allows."""
    candidates, window = survey.candidates, survey.window
    if limits.shorter(candidates.present - survey.lowest, options.smallest_step):
        return without_cut("at_the_floor", floor_reason(survey))
    advice, reason = advise(survey.there.outcome, window, candidates.arrow)
    goal = options.wanted_length
    if goal is None:
        if window.cut_to is None:
            return without_cut("indeterminate", reason)
        goal = window.cut_to
    lengths = _lengths_to(goal, survey, options, increment)
    steps: list[Candidate] = []
    if has_stations(candidates.arrow):
        _check_amount(lengths)
        candidates.prepare(lengths)
    for length in lengths:
        candidate = candidates.at(length)
        if not candidate.outcome.determinate:
            return leave_in_doubt(candidate)
        if not candidate.long_enough:
            break
        steps.append(candidate)
    blocked = None
    while steps and not steps[-1].may_be_shot:
        # Do not begin a cut that ends where nobody may shoot.
        blocked = steps.pop()
    cut_off = len(steps) < len(lengths)
    # Between two lengths at which the arrow may be shot there is nothing to stop for.
    steps = [candidate for candidate in steps if candidate.may_be_shot]
    decision: Decision = "shoot_again"
    if blocked is not None and not steps:
        if not survey.here.may_be_shot:
            return without_cut("indeterminate", NOT_SHOT)
        return replace(without_cut("at_the_floor", NOT_SHORTER), blocked=blocked)
    if options.wanted_length is not None:
        decision, reason = ("cut", _BEFORE) if lengths else ("stop_here", _PRESENT)
    elif advice == "cut_to" and lengths:
        decision = "cut"
    elif survey.here.may_be_shot:
        reason = _UNSHOT + reason
    else:
        return without_cut("indeterminate", _OTHER_SHAFT + reason if steps else NOT_SHOT)
    if decision == "cut" and blocked is not None:
        reason = _NO_FURTHER
    if cut_off and not steps:
        decision, reason = "at_the_floor", FLOOR
    return Plan(
        decided=CutDecision(
            decision=decision,
            reason=reason,
            next_length=steps[0].length if decision == "cut" else None,
        ),
        steps=tuple(steps[:MOST_STEPS]),
        more_steps=max(0, len(steps) - MOST_STEPS),
        blocked=blocked,
    )


def _check_amount(lengths: Sequence[float]) -> None:
    """Refuse a plan of more cuts of a tapered shaft than are solved in one request."""
    if len(lengths) > MOST_TAPERED_STEPS:
        detail = (
            f"This plan takes {len(lengths)} cuts. For a tapered shaft at most "
            f"{MOST_TAPERED_STEPS} are planned. Take a longer step or a nearer length."
        )
        raise FittingError(Fault(path=("cutting", "largest_step"), detail=detail))


def _lengths_to(
    goal: float, survey: Survey, options: Cutting, increment: float | None
) -> list[float]:
    """Lengths on the way to a goal; none where the tip is short of the clicker and unsafe."""

    def plan(present: float, goal: float, floor: float) -> list[float]:
        return plan_steps(
            present=present, goal=goal, floor=floor, options=options, increment=increment
        )

    present, safe, landing = survey.candidates.present, survey.here.minimum, survey.window.longest
    gap = survey.here is not survey.there and limits.shorter(landing, safe)
    if not gap or not limits.shorter(goal, safe):
        return plan(present, goal, survey.lowest)
    on_saw = float(round_down(landing, increment))
    landing = landing if limits.shorter(on_saw, survey.lowest) else on_saw
    before = plan(present, safe, safe)
    return [*before, landing, *plan(landing, goal, survey.lowest)]
