"""Puts a cut plan into words and figures."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from drawmark.answers.common.arrow_state import state_response
from drawmark.answers.common.context import Answer
from drawmark.answers.cutting.candidates import Candidate, Survey
from drawmark.answers.cutting.cut_decision import Plan
from drawmark.fitting import limits
from drawmark.fitting.cutting.next_cut import CutDecision, IdealLength
from drawmark.fitting.cutting.offsets import Reading
from drawmark.fitting.cutting.planned_steps import share_shafts
from drawmark.fitting.cutting.saw_limits import Cutting
from drawmark.fitting.mechanics.arrow_validation import projection_of
from drawmark.fitting.mechanics.spine import states
from drawmark.fitting.model import Arrow
from drawmark.rules.model import Measure

_LEAST_CHANCE: Final = 1e-4
BELOW: Final = "The wanted length lies below what may be cut to: the plan stops there."
DIFFER: Final = (
    "The two measures of stiffness would decide differently here: the safer decision stands."
)
UNSAFE_STOP: Final = "Do not shoot at a length whose `may_be_shot` is false: cut on, or not at all."
GAP: Final = (
    "Between the clicker's window and the minimum without a clicker no length is safe to draw: one "
    "cut passes from one to the other, and nothing is shot between."
)
TESTS: Final = "Cut only the test shafts; the set follows once two rounds at one length agree."
FOLLOW: Final = "Two rounds at this length agree: the set may be cut to it."


def decision_response(said: CutDecision, arrow: Arrow) -> Answer:
    """Give the decision and, where shots allow, the chance of going too far."""
    answer: Answer = {"decision": said.decision, "reason": said.reason}
    answer |= _next(said.next_length, arrow)
    answer |= _chance(said.probability_too_far, said.ideal)
    if said.rounds_needed is not None:
        answer["rounds_needed"] = said.rounds_needed
        answer["shots_needed"] = said.shots_needed
    if said.measures:
        answer["measures"] = [
            {
                "measure": one.measure,
                "decision": one.decision,
                **_next(one.next_length, arrow),
                **_chance(one.probability_too_far, one.ideal),
            }
            for one in said.measures
        ]
        answer["measures_differ"] = said.measures_differ
    return answer


def _next(length: float | None, arrow: Arrow) -> Answer:
    if length is None:
        return {}
    return {
        "next_length": Measure(length, up=True),
        "next_tube_length": Measure(length - float(projection_of(arrow)), up=True),
    }


def _chance(probability: float | None, ideal: IdealLength | None) -> Answer:
    answer: Answer = {}
    if probability is not None:
        # No chance is nothing: the assumptions themselves are not that certain.
        answer["probability_too_far"] = Measure(max(probability, _LEAST_CHANCE), "number")
    if ideal is not None:
        answer["ideal_length"] = {
            "estimate": Measure(ideal.estimate),
            "low": Measure(ideal.low),
            "high": Measure(ideal.high),
        }
    return answer


def steps_response(found: Survey, plan: Plan) -> Answer:
    """Give the arrow as it is and after each cut, each a place to stop and shoot."""
    arrow = found.candidates.arrow
    every = (found.here, *plan.steps)
    before, *after = (
        _candidate_response(found, candidate, state)
        for candidate, state in zip(every, states(arrow, [one.arrow for one in every]), strict=True)
    )
    lengths = [candidate.length for candidate in every]
    answer: Answer = {
        "present": before,
        "steps": [
            {"cut": Measure(longer - shorter), **step}
            for longer, shorter, step in zip(lengths, lengths[1:], after, strict=False)
        ],
    }
    if plan.more_steps:
        answer["more_steps"] = plan.more_steps
    return answer


def _candidate_response(found: Survey, candidate: Candidate, state: Any) -> Answer:
    answer = state_response(state)
    answer["tube_length"] = Measure(
        candidate.length - float(projection_of(candidate.arrow)), up=True
    )
    answer["length"] = Measure(candidate.length, up=True)
    if candidate.outcome.facts.arrow_mass is not None:
        answer["mass"] = Measure(candidate.outcome.facts.arrow_mass, "mass")
    answer["verdict"] = candidate.outcome.verdict
    answer["may_be_shot"] = candidate.may_be_shot
    if candidate.outcome.facts.launch_load is not None:
        answer["launch_load"] = Measure(candidate.outcome.facts.launch_load, "number")
    reaches = found.candidates.reaches_clicker(candidate.arrow)
    if reaches is not None:
        answer["clicker_reached"] = reaches
    return answer


def shafts_response(said: CutDecision, options: Cutting) -> Answer:
    """Tell which shafts of the set are cut now."""
    shafts = share_shafts(options)
    return {
        "shafts": {
            "test": shafts.test,
            "waiting": shafts.waiting,
            "uncut": 0 if said.set_may_follow else shafts.uncut,
        },
        "set_may_follow": said.set_may_follow,
        "shafts_advice": FOLLOW if said.set_may_follow else TESTS,
    }


def reading_response(reading: Reading | None) -> Answer:
    """Tell what of the shots was used."""
    if reading is None:
        return {}
    return {
        "reading": {
            "setup": reading.setup,
            "rounds": len(reading.evidence),
            "set_aside": reading.set_aside,
            "group_widths": reading.widths,
            "arrow_deviation": Measure(reading.arrow_deviation * reading.distance),
            "distance": Measure(reading.distance),
        }
    }


def warn(found: Survey, plan: Plan, options: Cutting) -> Iterator[str]:
    """Say what is out of the ordinary in this plan."""
    wanted = options.wanted_length
    if wanted is not None and limits.shorter(wanted, found.lowest):
        yield BELOW
    if plan.said.measures_differ:
        yield DIFFER
    if found.here is not found.there and limits.shorter(found.window.longest, found.here.minimum):
        yield GAP
    if not all(candidate.may_be_shot for candidate in (found.here, *plan.steps)):
        yield UNSAFE_STOP
