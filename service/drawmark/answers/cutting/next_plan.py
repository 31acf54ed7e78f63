"""The next cut from what was shot, each measure's cut held against every rule."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from drawmark.answers.cutting.candidates import Survey
from drawmark.answers.cutting.cut_decision import (
    NOT_SHORTER,
    NOT_SHOT,
    Plan,
    decide_so,
    floor_reason,
    leave_in_doubt,
)
from drawmark.fitting import limits
from drawmark.fitting.cutting.bare_shaft import coordinates_of
from drawmark.fitting.cutting.next_cut import CutDecision, Decision, decide_cut
from drawmark.fitting.cutting.offsets import Reading
from drawmark.fitting.cutting.saw_limits import Cutting
from drawmark.fitting.model import FittingError

_RETRIES: Final = 4
_BETWEEN: Final = (
    "any shorter length that the shots allow would be too long for the clicker, and too short "
    "without one"
)
_NEW: Final = "nothing has been shot at this length yet: shoot here before any other cut"


def plan_next(survey: Survey, reading: Reading, options: Cutting, increment: float | None) -> Plan:
    """Decide the next cut from the shots, and hold it against the rules.

    Parameters
    ----------
    survey : Survey
        Floors and window.
    reading : Reading
        What was shot.
    options : Cutting
        What the coach wants.
    increment : float or None
        Saw's increment [m].

    Returns
    -------
    Plan
        The decision and its cut.
    """
    ground = survey.ground
    shot = [each.length for each in reading.evidence]
    try:
        coordinates = coordinates_of(ground.arrow, [*shot, ground.present], ground.end)
    except FittingError:
        raise
    except ValueError as error:
        return decide_so("indeterminate", f"the shaft cannot be judged: {error}")
    floor, held = survey.lowest, floor_reason(survey)
    blocked = None
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
        doubtful = [trial for trial in trials if not trial.outcome.determinate]
        if doubtful:
            return leave_in_doubt(doubtful[0])
        short = [trial for trial in trials if not trial.long_enough]
        unshot = [trial for trial in trials if not trial.may_be_shot]
        if unshot and not short and not survey.here.may_be_shot:
            return decide_so("indeterminate", NOT_SHOT)
        if not short and not unshot:
            break
        if any(trial.outcome.facts.refuted for trial in short):
            held = _BETWEEN
        elif not short:
            held, blocked = NOT_SHORTER, unshot[0]
        shortest = min(trial.length for trial in trials)
        floor = max(*(trial.minimum for trial in trials), shortest + options.smallest_step)
    else:
        said = _instead(replace(said, measures=()), "at_the_floor", held)
    if said.decision != "at_the_floor":
        blocked = None
    else:
        said = replace(said, reason=held)
    if said.decision == "cut" and limits.shorter(ground.present, min(shot)):
        said = _instead(said, "shoot_again", _NEW)
    if not survey.here.may_be_shot:
        if said.decision == "shoot_again":
            return decide_so("indeterminate", NOT_SHOT)
        said = replace(said, set_may_follow=False)
    steps = () if said.next_length is None else (ground.at(said.next_length),)
    return Plan(said=said, steps=steps, blocked=blocked)


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
