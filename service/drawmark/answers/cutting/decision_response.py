"""The decision of a cut plan in an answer, and the chance of cutting too far."""

from __future__ import annotations

from typing import Annotated, Final, NotRequired, TypedDict

from drawmark.answers.common.answer_types import Length, Number
from drawmark.fitting.cutting import next_cut
from drawmark.fitting.cutting.next_cut import CutDecision, Decision
from drawmark.fitting.cutting.spine_coordinate import SpineMeasure
from drawmark.fitting.mechanics.arrow_validation import projection_of
from drawmark.fitting.model import Arrow
from drawmark.rules.model import Measure

_LEAST_CHANCE: Final = 1e-4
NextStep = Annotated[Decision, "What to do next."]


class IdealLength(TypedDict):
    "Median and 90 % interval of the ideal length."

    estimate: Annotated[Length, "Median."]
    low: Annotated[Length, "Lower end of the 90 % interval."]
    high: Annotated[Length, "Upper end of the 90 % interval."]


class NextLength(TypedDict):
    """The length to cut to."""

    next_length: NotRequired[Annotated[Length, "Arrow length to cut to."]]
    next_tube_length: NotRequired[Annotated[Length, "Tube length to cut to. The saw needs this."]]


class Chance(TypedDict):
    """How likely a cut is to go too far."""

    probability_too_far: NotRequired[
        Annotated[
            Number,
            "Chance that the ideal length is more than 2.5 mm above that length, if the plan's "
            "assumptions hold.",
        ]
    ]
    ideal_length: NotRequired[
        Annotated[
            IdealLength,
            "Length at which the shots say that the arrow would act neither weak nor stiff.",
        ]
    ]


class MeasureDecision(NextLength, Chance):
    """What one measure of stiffness alone would decide."""

    measure: Annotated[SpineMeasure, "Measure of stiffness: free vibration or launch force."]
    decision: NextStep


class MoreShots(TypedDict):
    """What shooting would allow a cut."""

    rounds_needed: NotRequired[
        Annotated[int, "Further rounds at this length that would allow a cut."]
    ]
    shots_needed: NotRequired[Annotated[int, "Bare-shaft shots in these rounds."]]


class Measures(TypedDict):
    """What each measure of stiffness would decide."""

    measures: NotRequired[
        Annotated[list[MeasureDecision], "What each measure of stiffness would decide alone."]
    ]
    measures_differ: NotRequired[
        Annotated[
            bool, ("Whether the two measures lead to different decisions. The safer one is given.")
        ]
    ]


class DecisionOfPlan(NextLength, Chance, MoreShots, Measures):
    """What to do next, and why."""

    decision: NextStep
    reason: Annotated[str, "Why."]


def decision_response(decided: CutDecision, arrow: Arrow) -> DecisionOfPlan:
    """Give the decision and, where shots allow, the chance of going too far."""
    return {
        "decision": decided.decision,
        "reason": decided.reason,
        **_next_length(decided.next_length, arrow),
        **_chance(decided.probability_too_far, decided.ideal),
        **_more_shots(decided),
        **_measures(decided, arrow),
    }


def _next_length(length: float | None, arrow: Arrow) -> NextLength:
    if length is None:
        return {}
    return {
        "next_length": Measure(length, up=True),
        "next_tube_length": Measure(length - float(projection_of(arrow)), up=True),
    }


def _chance(probability: float | None, ideal: next_cut.IdealLength | None) -> Chance:
    answer: Chance = {}
    if probability is not None:
        # No chance is zero: the assumptions themselves are not that certain.
        answer["probability_too_far"] = Measure(max(probability, _LEAST_CHANCE), "number")
    if ideal is not None:
        answer["ideal_length"] = {
            "estimate": Measure(ideal.estimate),
            "low": Measure(ideal.low),
            "high": Measure(ideal.high),
        }
    return answer


def _more_shots(decided: CutDecision) -> MoreShots:
    if decided.rounds_needed is None or decided.shots_needed is None:
        return {}
    return {"rounds_needed": decided.rounds_needed, "shots_needed": decided.shots_needed}


def _measures(decided: CutDecision, arrow: Arrow) -> Measures:
    if not decided.measures:
        return {}
    measures: list[MeasureDecision] = [
        {
            "measure": one.measure,
            "decision": one.decision,
            **_next_length(one.next_length, arrow),
            **_chance(one.probability_too_far, one.ideal),
        }
        for one in decided.measures
    ]
    return {"measures": measures, "measures_differ": decided.measures_differ}
