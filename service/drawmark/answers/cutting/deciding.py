"""What to do next with the arrow: from the rules alone before any shot, then from the shots."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from drawmark.answers.cutting.ground import Survey, Trial
from drawmark.answers.recommended_length import advise
from drawmark.fitting import limits
from drawmark.fitting.bareshaft import coordinates_of
from drawmark.fitting.cuts import plan_steps
from drawmark.fitting.cutting import CutDecision, Decision, decide_cut
from drawmark.fitting.model import FittingError
from drawmark.fitting.nextcut import Cutting
from drawmark.fitting.offsets import Reading

MOST_STEPS: Final = 24
_RETRIES: Final = 4
_DOUBT: Final = "a rule that may ask for more length could not be evaluated: no cut is advised"
_ESTIMATE: Final = "the draw is an estimate from the arm span: measure it before any cut"
_SHORT: Final = "shorter than the minimum safe length: it must not be drawn"
_FLOOR: Final = "the arrow must not get shorter: it is at its minimum safe length"
_CLICKER: Final = "the arrow must not get shorter: its tip would no longer reach the clicker"
_BETWEEN: Final = (
    "any shorter length that the shots allow would be too long for the clicker, and too short "
    "without one"
)
_NOT_SHOT: Final = "the fit check of this arrow does not let it be shot: see the findings"
_UNSHOOTABLE: Final = (
    "the fit check does not let the arrow be shot at this length: shoot nothing before the first "
    "step that may be shot"
)
_NEW: Final = "nothing has been shot at this length yet: shoot here before any other cut"
_UNSHOT: Final = "nothing has been shot yet: shoot bare shafts beside fletched arrows first; "
_PRESENT: Final = "no longer than wanted: nothing is to be cut"
_BEFORE: Final = "longer than wanted: cut in these steps, and shoot after each"


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """A decision, and the cuts it leads to.

    Parameters
    ----------
    said : CutDecision
        What to do.
    steps : tuple of Trial
        The arrow after each cut, in order.
    more_steps : int
        Cuts beyond those listed.
    """

    said: CutDecision
    steps: tuple[Trial, ...] = ()
    more_steps: int = 0


def decide(
    survey: Survey, reading: Reading | None, options: Cutting, increment: float | None
) -> Plan:
    """Decide on the next cut, never past a floor and never where one is in doubt.

    Parameters
    ----------
    survey : Survey
        Floors and window.
    reading : Reading or None
        What was shot; None before any shot.
    options : Cutting
        What the coach wants.
    increment : float or None
        Saw's increment [m].

    Returns
    -------
    Plan
        The decision and its cuts.
    """
    ground, here = survey.ground, survey.here
    if not (here.outcome.determinate and survey.there.outcome.determinate):
        return _word("indeterminate", _DOUBT)
    if here.outcome.facts.estimated:
        return _word("indeterminate", _ESTIMATE)
    if limits.shorter(ground.present, here.minimum):
        return _word("at_the_floor", _SHORT)
    if reading is None:
        return _before_shots(survey, options, increment)
    return _after_shots(survey, reading, options, increment)


def _word(decision: Decision, reason: str) -> Plan:
    return Plan(said=CutDecision(decision=decision, reason=reason))


def _floor_reason(survey: Survey) -> str:
    return _CLICKER if survey.by_clicker else _FLOOR


def _before_shots(survey: Survey, options: Cutting, increment: float | None) -> Plan:
    ground, window = survey.ground, survey.window
    if limits.shorter(ground.present - survey.lowest, options.smallest_step):
        return _word("at_the_floor", _floor_reason(survey))
    advice, reason = advise(survey.there.outcome, window, ground.arrow)
    goal = options.wanted_length
    if goal is None:
        if window.figure is None:
            return _word("indeterminate", reason)
        goal = window.figure
    lengths = _lengths_to(goal, survey, options, increment)
    steps: list[Trial] = []
    for length in lengths[:MOST_STEPS]:
        trial = ground.at(length)
        if not trial.long_enough:
            break
        steps.append(trial)
    cut_off = len(steps) < min(len(lengths), MOST_STEPS)
    decision: Decision = "shoot_again"
    if options.wanted_length is not None:
        decision, reason = ("cut", _BEFORE) if lengths else ("stop_here", _PRESENT)
    elif advice == "cut_to" and lengths:
        decision = "cut"
    elif survey.here.may_be_shot:
        reason = _UNSHOT + reason
    elif any(trial.may_be_shot for trial in steps):
        decision, reason = "cut", _UNSHOOTABLE
    else:
        return _word("indeterminate", _NOT_SHOT)
    if cut_off and not steps:
        decision, reason = "at_the_floor", _FLOOR
    return Plan(
        said=CutDecision(
            decision=decision,
            reason=reason,
            next_length=steps[0].length if decision == "cut" else None,
        ),
        steps=tuple(steps),
        more_steps=0 if cut_off else len(lengths) - len(steps),
    )


def _lengths_to(
    goal: float, survey: Survey, options: Cutting, increment: float | None
) -> list[float]:
    """Lengths on the way to a goal; none where the tip is short of the clicker and unsafe."""

    def plan(present: float, goal: float, floor: float) -> list[float]:
        steps = plan_steps(
            present=present, goal=goal, floor=floor, options=options, increment=increment
        )
        return [step.length for step in steps]

    present, safe, landing = survey.ground.present, survey.here.minimum, survey.window.longest
    gap = survey.here is not survey.there and limits.shorter(landing, safe)
    if not gap or not limits.shorter(goal, safe):
        return plan(present, goal, survey.lowest)
    if increment is not None:
        on_saw = math.floor((landing + limits.TOLERANCE) / increment) * increment
        landing = landing if limits.shorter(on_saw, survey.lowest) else on_saw
    before = plan(present, safe, safe)
    return [*before, landing, *plan(landing, goal, survey.lowest)]


def _after_shots(
    survey: Survey, reading: Reading, options: Cutting, increment: float | None
) -> Plan:
    ground = survey.ground
    shot = [each.length for each in reading.evidence]
    try:
        coordinates = coordinates_of(ground.arrow, [*shot, ground.present], ground.end)
    except FittingError:
        raise
    except ValueError as error:
        return _word("indeterminate", f"the shaft cannot be judged: {error}")
    floor, held = survey.lowest, _floor_reason(survey)
    for _ in range(_RETRIES):
        said = decide_cut(
            reading,
            coordinates,
            present=ground.present,
            floor=floor,
            options=options,
            increment=increment,
        )
        # Each measure's cut is asked about: a rule may want more length of a shorter arrow.
        trials = [
            ground.at(one.next_length) for one in said.measures if one.next_length is not None
        ]
        if not all(trial.outcome.determinate for trial in trials):
            return _word("indeterminate", _DOUBT)
        if all(trial.long_enough for trial in trials):
            break
        if any(trial.outcome.facts.refuted for trial in trials):
            held = _BETWEEN
        shortest = min(trial.length for trial in trials)
        floor = max(*(trial.minimum for trial in trials), shortest + options.smallest_step)
    else:
        said = _instead(replace(said, measures=()), "at_the_floor", held)
    if said.decision == "at_the_floor":
        said = replace(said, reason=held)
    if said.decision == "cut" and limits.shorter(ground.present, min(shot)):
        said = _instead(said, "shoot_again", _NEW)
    if not survey.here.may_be_shot:
        if said.decision == "shoot_again":
            return _word("indeterminate", _NOT_SHOT)
        said = replace(said, set_may_follow=False)
    steps = () if said.next_length is None else (ground.at(said.next_length),)
    return Plan(said=said, steps=steps)


def _instead(said: CutDecision, decision: Decision, reason: str) -> CutDecision:
    return replace(
        said,
        decision=decision,
        reason=reason,
        next_length=None,
        rounds_needed=None,
        shots_needed=None,
        set_may_follow=False,
    )
