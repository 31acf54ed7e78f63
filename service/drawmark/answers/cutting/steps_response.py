"""The arrow as it is and after each cut of a plan, in an answer."""

from __future__ import annotations

from typing import Annotated, NotRequired, TypedDict

from drawmark.answers.common.answer_types import Length, Number, TubeLength
from drawmark.answers.common.arrow_state import ArrowState, state_response
from drawmark.answers.cutting.candidates import Candidate, Survey
from drawmark.answers.cutting.cut_decision import Plan
from drawmark.fitting.mechanics.arrow_validation import projection_of
from drawmark.fitting.mechanics.spine import SpineState, states
from drawmark.rules.model import Measure, Verdict


class LoadAndClicker(TypedDict):
    """What is known only if the bow has a draw weight or a clicker."""

    launch_load: NotRequired[Number]
    clicker_reached: NotRequired[bool]


class CutState(ArrowState):
    """The arrow as it is, and whether it may be shot."""

    tube_length: TubeLength
    verdict: Annotated[Verdict, "Verdict of the fit check at this length."]
    may_be_shot: Annotated[
        bool, "Whether the fit check lets it be shot. If false, shoot nothing at this length."
    ]
    clicker_reached: NotRequired[Annotated[bool, "Whether the tip reaches the clicker's blade."]]


class CutStep(CutState):
    """The arrow after one more cut, and whether it may be shot."""

    cut: Annotated[Length, "How much shorter than before."]


class StepsOfPlan(TypedDict):
    """The arrow as it is and after each cut."""

    present: Annotated[CutState, "The arrow as it is."]
    steps: Annotated[
        list[CutStep],
        "The arrow after each cut of the plan, where it may be shot. Stop and shoot after each.",
    ]
    more_steps: NotRequired[Annotated[int, "Number of further cuts that are not listed."]]


def steps_response(found: Survey, plan: Plan) -> StepsOfPlan:
    """Give the arrow as it is and after each cut, each a place to stop and shoot."""
    arrow = found.candidates.arrow
    every = (found.here, *plan.steps)
    before, *after = (
        _candidate_response(found, candidate, state)
        for candidate, state in zip(every, states(arrow, [one.arrow for one in every]), strict=True)
    )
    lengths = [candidate.length for candidate in every]
    answer: StepsOfPlan = {
        "present": before,
        "steps": [
            {"cut": Measure(longer - shorter), **step}
            for longer, shorter, step in zip(lengths, lengths[1:], after, strict=False)
        ],
    }
    if plan.more_steps:
        answer["more_steps"] = plan.more_steps
    return answer


def _candidate_response(found: Survey, candidate: Candidate, state: SpineState) -> CutState:
    facts = candidate.outcome.facts
    figures = state_response(state)
    if facts.arrow_mass is not None:
        figures["mass"] = Measure(facts.arrow_mass, "mass")
    load: LoadAndClicker = {}
    if facts.launch_load is not None:
        load["launch_load"] = Measure(facts.launch_load, "number")
    reaches = found.candidates.reaches_clicker(candidate.arrow)
    if reaches is not None:
        load["clicker_reached"] = reaches
    return {
        **figures,
        "tube_length": Measure(candidate.length - float(projection_of(candidate.arrow)), up=True),
        "length": Measure(candidate.length, up=True),
        "verdict": candidate.outcome.verdict,
        "may_be_shot": candidate.may_be_shot,
        **load,
    }
