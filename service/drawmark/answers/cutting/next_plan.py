"""The next cut from the shots; each measure's cut is checked against every rule."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from drawmark.answers.common.advice import CLICKER_FIRST, is_growing, may_grow
from drawmark.answers.cutting.candidates import Survey
from drawmark.answers.cutting.cut_decision import (
    NOT_SHORTER,
    NOT_SHOT,
    Plan,
    end_of_cuts,
    leave_in_doubt,
    without_cut,
)
from drawmark.fitting import limits
from drawmark.fitting.cutting.bare_shaft import coordinates_of
from drawmark.fitting.cutting.next_cut import CutDecision, Decision, decide_cut
from drawmark.fitting.cutting.offsets import Reading
from drawmark.fitting.cutting.saw_limits import Cutting
from drawmark.fitting.faults import FittingError

_RETRIES: Final = 4
_BETWEEN: Final = (
    "Every shorter length that the shots allow is too long for the clicker and too short without "
    "it. Do not cut."
)
_GROWS: Final = (
    "Growth is stated, so the draw may get longer. Keep the arrow as it is, since a cut cannot be "
    "undone: see `remedies`. To cut all the same, give `wanted_length`."
)
_MAY_GROW: Final = (
    "The shots ask for a shorter arrow, but no growth was stated, so the draw may still get "
    "longer. If it does not, give a `growth_allowance` of zero. To cut all the same, give "
    "`wanted_length`."
)
_VARIES: Final = "The few known draws vary widely. Measure six or more draws before any cut."
_NEW: Final = "Nothing has been shot at this length yet. Shoot here before any other cut."


def plan_next(survey: Survey, reading: Reading, options: Cutting, increment: float | None) -> Plan:
    """Decide the next cut from the shots, and check it against the rules."""
    candidates = survey.candidates
    shot = [each.length for each in reading.evidence]
    try:
        coordinates = coordinates_of(candidates.arrow, [*shot, candidates.present], candidates.end)
    except FittingError:
        raise
    except ValueError as error:
        return without_cut("indeterminate", f"The shaft cannot be judged: {error}.")
    floor, held = end_of_cuts(survey, options)
    blocked = None
    for _ in range(_RETRIES):
        decided = decide_cut(
            reading,
            coordinates,
            present=candidates.present,
            floor=floor,
            options=options,
            increment=increment,
        )
        # Each measure's cut is asked about: a rule may want more length of a shorter arrow.
        cuts = [
            candidates.at(one.next_length)
            for one in decided.measures
            if one.next_length is not None
        ]
        doubtful = [one for one in cuts if not one.outcome.determinate]
        if doubtful:
            return leave_in_doubt(doubtful[0])
        short = [one for one in cuts if not one.long_enough]
        unshot = [one for one in cuts if not one.may_be_shot]
        if unshot and not short and not survey.here.may_be_shot:
            return without_cut("indeterminate", NOT_SHOT)
        if not short and not unshot:
            break
        if any(one.outcome.facts.refuted for one in short):
            held = _BETWEEN
        elif not short:
            held, blocked = NOT_SHORTER, unshot[0]
        shortest = min(one.length for one in cuts)
        floor = max(*(one.minimum for one in cuts), shortest + options.smallest_step)
    else:
        decided = _without_cut(replace(decided, measures=()), "at_the_floor", held)
    if decided.decision != "at_the_floor":
        blocked = None
    else:
        decided = replace(decided, reason=held)
    if decided.decision == "cut" and limits.shorter(candidates.present, min(shot)):
        decided = _without_cut(decided, "shoot_again", _NEW)
    if decided.decision == "cut" and options.wanted_length is None:
        facts = survey.there.outcome.facts
        if is_growing(facts):
            decided = _without_cut(decided, "stop_here", _GROWS)
        elif may_grow(facts):
            decided = _without_cut(decided, "stop_here", _MAY_GROW)
        elif facts.few_vary:
            decided = _without_cut(decided, "stop_here", _VARIES)
        elif facts.refuted:
            decided = _without_cut(decided, "stop_here", CLICKER_FIRST)
    if not survey.here.may_be_shot:
        if decided.decision == "shoot_again":
            return without_cut("indeterminate", NOT_SHOT)
        decided = replace(decided, set_may_follow=False)
    steps = () if decided.next_length is None else (candidates.at(decided.next_length),)
    return Plan(decided=decided, steps=steps, blocked=blocked)


def _without_cut(decided: CutDecision, decision: Decision, reason: str) -> CutDecision:
    return replace(
        decided,
        decision=decision,
        reason=reason,
        next_length=None,
        rounds_needed=None,
        shots_needed=None,
        set_may_follow=False,
    )
