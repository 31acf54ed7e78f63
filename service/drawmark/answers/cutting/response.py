"""Puts a cut plan into words and figures."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Final, NotRequired, TypedDict

from drawmark.answers.common.answer_types import Distance, Length, Number, TubeLength
from drawmark.answers.common.arrow_state import ArrowState, state_response
from drawmark.answers.cutting.candidates import Candidate, Survey
from drawmark.answers.cutting.cut_decision import Plan
from drawmark.fitting import limits
from drawmark.fitting.cutting import next_cut
from drawmark.fitting.cutting.next_cut import CutDecision, Decision
from drawmark.fitting.cutting.offsets import Reading
from drawmark.fitting.cutting.planned_steps import share_shafts
from drawmark.fitting.cutting.saw_limits import Cutting
from drawmark.fitting.cutting.spine_coordinate import SpineMeasure
from drawmark.fitting.mechanics.arrow_validation import projection_of
from drawmark.fitting.mechanics.spine import SpineState, states
from drawmark.fitting.model import Arrow
from drawmark.rules.model import Measure, Verdict

_LEAST_CHANCE: Final = 1e-4
SYSTEMATIC: Final = (
    "The chance allows for an error that all rounds share, with a standard deviation of 3 cm at "
    "18 m. That figure is a choice of this project without a source. More shots do not show such "
    "an error."
)
BELOW: Final = "The wanted length is too short to cut to. The plan stops above it."
COSTLY: Final = (
    "The wanted length takes room that growth or tuning may need, and a cut cannot be undone: "
    "compare it with `recommended`."
)
DIFFER: Final = (
    "The two measures of stiffness lead to different decisions here. The safer one is given."
)
UNSAFE_STOP: Final = "Do not shoot the arrow as it is: `present.may_be_shot` is false."
GAP: Final = (
    "No length between the clicker's range and the minimum without a clicker is safe to draw. "
    "Cross them in one cut, and shoot at none of them."
)
TESTS: Final = "Cut only the test shafts. The set follows once two rounds at one length agree."
FOLLOW: Final = "Two rounds at this length agree. The set may be cut to it."


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


class Shafts(TypedDict):
    """How the shafts of a set are shared."""

    test: Annotated[int, "Shafts to cut and shoot now."]
    waiting: Annotated[int, "Shafts to cut when the set follows."]
    uncut: Annotated[int, "Shafts to keep uncut until the set follows."]


class ShaftsOfSet(TypedDict):
    """Which shafts of the set are cut now."""

    shafts: Annotated[Shafts, "Number of shafts of each kind."]
    set_may_follow: Annotated[bool, "Whether two rounds at this length agree."]
    shafts_advice: Annotated[str, "What to do with the set."]


class ReadingUsed(TypedDict):
    "Which shots were used."

    setup: Annotated[str, "Setup whose rounds were used: the last one."]
    rounds: Annotated[int, "Rounds that were read."]
    set_aside: Annotated[int, "Rounds of other setups, which were not used."]
    group_widths: Annotated[int, "Rounds that have a group width."]
    arrow_deviation: Annotated[
        Length, "Standard deviation of one arrow across the target, at `distance`."
    ]
    systematic_error: Annotated[
        Length,
        "Standard deviation of an error that all rounds share, at `distance`. It is a choice of "
        "this project without a source.",
    ]
    distance: Annotated[
        Distance, "Distance to the target for these figures, in the unit in which it was given."
    ]


class ReadingOfShots(TypedDict):
    """What the shots show."""

    reading: NotRequired[Annotated[ReadingUsed, "Which shots were used."]]


NextStep = Annotated[Decision, "What to do next."]


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


def shafts_response(decided: CutDecision, options: Cutting) -> ShaftsOfSet:
    """Tell which shafts of the set are cut now."""
    shafts = share_shafts(options)
    return {
        "shafts": {
            "test": shafts.test,
            "waiting": shafts.waiting,
            "uncut": 0 if decided.set_may_follow else shafts.uncut,
        },
        "set_may_follow": decided.set_may_follow,
        "shafts_advice": FOLLOW if decided.set_may_follow else TESTS,
    }


def reading_response(reading: Reading | None) -> ReadingOfShots:
    """Give which shots were used."""
    if reading is None:
        return {}
    return {
        "reading": {
            "setup": reading.setup,
            "rounds": len(reading.evidence),
            "set_aside": reading.set_aside,
            "group_widths": reading.widths,
            "arrow_deviation": Measure(reading.arrow_deviation * reading.distance),
            "systematic_error": Measure(limits.SYSTEMATIC_DEVIATION * reading.distance),
            "distance": Measure(reading.distance, "distance"),
        }
    }


def plan_cautions(found: Survey, plan: Plan, options: Cutting) -> Iterator[str]:
    """Give the cautions of this plan."""
    if plan.decided.ideal is not None:
        yield SYSTEMATIC
    wanted = options.wanted_length
    if wanted is not None and limits.shorter(wanted, found.lowest):
        yield BELOW
    if found.is_costly(wanted):
        yield COSTLY
    if plan.decided.measures_differ:
        yield DIFFER
    if found.here is not found.there and limits.shorter(found.window.longest, found.here.minimum):
        yield GAP
    if not found.here.may_be_shot:
        yield UNSAFE_STOP
