"""What to do next with the arrow: from the rules alone before any shot, then from the shots."""

from __future__ import annotations

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
    "the next cut would leave the arrow too short for its draw without a clicker, and still too "
    "long for the clicker"
)
_NOT_SHOT: Final = "the fit check of this arrow does not let it be shot: see the findings"
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
    lengths = [
        step.length
        for step in plan_steps(
            present=ground.present,
            goal=goal,
            floor=survey.lowest,
            options=options,
            increment=increment,
        )
    ]
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
    else:
        reason = _UNSHOT + reason
    if cut_off and not steps:
        decision, reason = "at_the_floor", _BETWEEN
    return Plan(
        said=CutDecision(
            decision=decision,
            reason=reason,
            next_length=steps[0].length if decision == "cut" else None,
        ),
        steps=tuple(steps),
        more_steps=0 if cut_off else len(lengths) - len(steps),
    )


def _after_shots(
    survey: Survey, reading: Reading, options: Cutting, increment: float | None
) -> Plan:
    ground = survey.ground
    shot = [each.length for each in reading.evidence]
    try:
        coordinates = coordinates_of(ground.arrow, [*shot, ground.present], ground.end)
        for measure in coordinates:
            if limits.shorter(min(shot), float(measure.lengths[0])):
                return _word("indeterminate", "a length shot leaves no room for the arrow's parts")
    except FittingError:
        raise
    except ValueError as error:
        return _word("indeterminate", f"the shaft cannot be judged: {error}")
    floor = survey.lowest
    for _ in range(_RETRIES):
        said = decide_cut(
            reading,
            coordinates,
            present=ground.present,
            floor=floor,
            options=options,
            increment=increment,
        )
        if said.decision != "cut" or said.next_length is None:
            break
        trial = ground.at(said.next_length)
        if not trial.outcome.determinate:
            return _word("indeterminate", _DOUBT)
        if trial.long_enough:
            if limits.shorter(ground.present, min(shot)):
                return Plan(said=_instead(said, "shoot_again", _NEW))
            return Plan(said=said, steps=(trial,))
        # A rule may ask for more length of the shorter arrow than of this one.
        floor = max(trial.minimum, said.next_length + options.smallest_step)
    else:
        return Plan(said=_instead(said, "at_the_floor", _FLOOR))
    if said.decision == "at_the_floor":
        said = replace(said, reason=_floor_reason(survey))
    if said.decision == "shoot_again" and not survey.here.may_be_shot:
        said = _instead(said, "indeterminate", _NOT_SHOT)
    return Plan(said=said)


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
