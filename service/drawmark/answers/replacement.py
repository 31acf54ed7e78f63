"""Which other shaft acts like known arrows, and at what length and with what point."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Final, NotRequired, TypedDict

from drawmark.answers.club.members import repeated_ids
from drawmark.answers.common import cautions
from drawmark.answers.common.advice import Advice, advise
from drawmark.answers.common.answer_types import Force, Frequency, FrontOfCentre, Mass
from drawmark.answers.common.common_response import Aggregate, Common
from drawmark.answers.common.context import Context
from drawmark.answers.common.derivation import (
    Assumptions,
    FigureSources,
    assumptions_response,
    sources_response,
)
from drawmark.answers.common.findings import Finding, deciding_response
from drawmark.answers.common.length_rules import evaluate_lengths
from drawmark.answers.common.measured_mass import contradictions_of, parts_alone
from drawmark.answers.common.minimum import Minimum, minimum_response
from drawmark.answers.common.recommended_window import (
    Recommendation,
    Window,
    window_in,
    window_response,
)
from drawmark.answers.replacing.candidates import (
    MOST_CANDIDATES,
    CandidateShaft,
    Choice,
    Made,
    make_all,
)
from drawmark.answers.replacing.judging import Judged, judge_arrows
from drawmark.answers.replacing.response import Known, Replacement, rank, replacement_response
from drawmark.fitting import fields
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.mechanics.arrow_validation import length_of, verify
from drawmark.fitting.mechanics.beam import first_bending_frequency
from drawmark.fitting.mechanics.launch import critical_launch_force
from drawmark.fitting.mechanics.weighing import front_of_centre_of, weigh
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.rules.evaluate import evaluate
from drawmark.rules.model import CORE, Measure, Verdict
from drawmark.rules.outcome import NotChecked

NEEDS = (
    "arrow.length",
    "arrow.shaft.static_spine",
    "arrow.shaft.mass_per_length",
    "arrow.point.mass",
    "candidates[] shaft.static_spine",
    "candidates[] shaft.mass_per_length",
)
_SOURCES = (
    ("present.first_bending_frequency", "euler-beam"),
    ("present.critical_launch_force", "launch-buckling"),
    ("present.front_of_centre", "foc-formula"),
    ("candidates.made.equivalent_static_spine.free_vibration", "euler-beam"),
    ("candidates.made.equivalent_static_spine.launch", "launch-buckling"),
    ("candidates.made.point_mass", "project-margin"),
)
_LONGEST: Final = fields.quantity_of(Arrow, "length").high
_NO_POINT: Final = (
    "A point of no mass cannot be replaced by another. Give the mass of the present one."
)
_NOBODY: Final = (
    "No archer and bow were given, so no minimum is known. Nothing here is shorter than the "
    "present arrows. Check a length with a fit check before you cut."
)
_UNCHECKED: Final = NotChecked(
    CORE, "minimum-length", "Minimum safe length, and whether it may be shot.", ("archer", "bow")
)
_CAUTIONS: Final = (
    cautions.AUTHORITY,
    cautions.CUTTING,
    cautions.REPLACING,
    cautions.BREAKING,
)
_CUT: Final = (
    "Cut new shafts in steps to the length given here, and stop there. Shoot the first one before "
    "you cut the others."
)
_NONE_SHOT: Final = (
    "The fit check would not let an arrow of these shafts be shot: see the findings. Do not cut "
    "them."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The known arrow, the shafts that could replace it, and who shoots it."""

    arrow: Arrow = fields.part(Arrow, "An arrow that is known to suit, or the shortest of a set.")
    candidates: tuple[CandidateShaft, ...] = fields.part(
        CandidateShaft, "Shafts that could replace it.", fewest=1, most=MOST_CANDIDATES
    )
    archer: Archer | None = fields.part(
        Archer, "The archer. Without one nothing is made shorter.", default=None
    )
    bow: Bow | None = fields.part(Bow, "The bow. It is needed beside an archer.", default=None)
    available_points: tuple[float, ...] | None = fields.quantity(
        "mass", 0.0, 0.04, "Point masses that can be bought.", default=None, fewest=1, most=50
    )
    saw_increment: float | None = fields.increment("Lengths are rounded up to a multiple of this.")


class PresentArrow(TypedDict):
    """The known arrow."""

    mass: Annotated[Mass, "Mass of the parts."]
    front_of_centre: FrontOfCentre
    first_bending_frequency: Annotated[Frequency, "Frequency of the first free bending vibration."]
    critical_launch_force: Annotated[Force, "Force on the nock at which the arrow would buckle."]
    verdict: NotRequired[Annotated[Verdict, "Verdict of its own fit check."]]
    findings: NotRequired[Annotated[list[Finding], "Findings that decide the verdict."]]


class MinimumOfArcher(Minimum, Recommendation):
    """The archer's own lengths."""


class ReplacementAnswer(MinimumOfArcher, Common):
    """Which shafts act most like the known arrow."""

    present: Annotated[PresentArrow, "The known arrow."]
    allowed: Annotated[
        Window,
        "Range from which lengths were chosen. No length is allowed if `shortest` is the longer.",
    ]
    advice: Annotated[Advice, "What to do with a new shaft."]
    advice_reason: Annotated[str, "Why."]
    candidates: Annotated[
        list[Replacement],
        "The candidates, the nearest first. Those that may not be shot come after all others, "
        "then those of which no arrow can be made.",
    ]
    assumptions: Assumptions
    derivation: FigureSources


@dataclass(frozen=True, kw_only=True, slots=True)
class _Person:
    """The lengths that an archer may have, and what else the answer says of them."""

    shortest: float
    longest: float
    advice: Advice
    reason: str
    lengths: MinimumOfArcher


def answer(request: Request, context: Context) -> ReplacementAnswer:
    """Give every candidate the length and the point that act most like the known arrow."""
    if faults := [*repeated_ids("candidates", request.candidates), *_faults_of(request)]:
        raise FittingError(*faults)
    arrow, shafts = parts_alone(request.arrow), request.candidates
    verify(arrow)
    aggregate = Aggregate()
    person = _person(request, arrow, context, aggregate)
    choice = Choice(
        shortest=person.shortest,
        longest=person.longest,
        increment=request.saw_increment,
        points=request.available_points,
    )
    made, known = make_all(arrow, shafts, choice), Known.of(arrow)
    judged = _judge(request, made, context, aggregate)
    order = sorted(range(len(made)), key=lambda at: rank(made[at], judged.get(at), at))
    advice, reason = person.advice, person.reason
    if advice == "cut_to" and not any(one.may_be_shot for one in judged.values()):
        advice, reason = "leave_uncut", _NONE_SHOT
    return {
        **person.lengths,
        "present": _present_response(request, arrow, context, aggregate),
        "allowed": {
            "shortest": Measure(person.shortest, up=True),
            "longest": Measure(person.longest, down=True),
        },
        "advice": advice,
        "advice_reason": reason,
        "candidates": [
            replacement_response(known, at, shafts[at], made[at], judged.get(at)) for at in order
        ],
        "assumptions": assumptions_response(arrow),
        "derivation": sources_response(_SOURCES, {"present", "candidates"}),
        **aggregate.response(
            context,
            (*contradictions_of(request.arrow), *_CAUTIONS),
            *(() if request.archer else (_UNCHECKED,)),
        ),
    }


def _faults_of(request: Request) -> Iterator[Fault]:
    if request.archer is None and request.bow is not None:
        yield Fault(path=("archer",), detail="This is needed beside the bow.")
    if request.bow is None and request.archer is not None:
        yield Fault(path=("bow",), detail="This is needed beside the archer.")
    if request.arrow.point is not None and not request.arrow.point.mass:
        yield Fault(path=("arrow", "point", "mass"), detail=_NO_POINT)


def _person(request: Request, arrow: Arrow, context: Context, aggregate: Aggregate) -> _Person:
    archer, bow, length = request.archer, request.bow, float(length_of(arrow))
    if archer is None or bow is None:
        return _Person(
            shortest=length,
            longest=_LONGEST,
            advice="leave_uncut",
            reason=_NOBODY,
            lengths={"status": "indeterminate"},
        )
    outcome = evaluate_lengths(archer, bow, arrow, context, uncut=True)
    aggregate.add(outcome)
    increment = request.saw_increment
    window = window_in(outcome, bow, arrow, increment)
    advice, reason = advise(outcome, window, dataclasses.replace(arrow, length=None))
    # What is shot now may be kept, but a new shaft goes below the recommended length no further.
    figure = window.longest if window.figure is None else window.figure
    clicker = outcome.facts.control == "clicker"
    return _Person(
        shortest=max(window.shortest, min(figure, length)),
        longest=window.longest if clicker or window.empty else max(window.longest, length),
        advice=advice,
        reason=_CUT if advice == "cut_to" else reason,
        lengths={
            **window_response(window),
            **minimum_response(outcome, bow, arrow, increment),
        },
    )


def _judge(
    request: Request, made: Sequence[Made], context: Context, aggregate: Aggregate
) -> dict[int, Judged]:
    if request.archer is None or request.bow is None:
        return {}
    arrows = {at: one.arrow for at, one in enumerate(made) if one.arrow is not None}
    judged = judge_arrows(request.archer, request.bow, list(arrows.values()), context, aggregate)
    return dict(zip(arrows, judged, strict=True))


def _present_response(
    request: Request, arrow: Arrow, context: Context, aggregate: Aggregate
) -> PresentArrow:
    answer: PresentArrow = {
        "mass": Measure(weigh(arrow)[0], "mass"),
        "front_of_centre": Measure(front_of_centre_of(arrow), "percent"),
        "first_bending_frequency": Measure(first_bending_frequency(arrow), "frequency"),
        "critical_launch_force": Measure(critical_launch_force(arrow), "force"),
    }
    if request.archer is not None:
        fitting = Fitting(archer=request.archer, bow=request.bow, arrow=request.arrow)
        outcome = evaluate(fitting, context.ruleset, context.local)
        aggregate.add(outcome)
        answer["verdict"] = outcome.verdict
        answer["findings"] = deciding_response(outcome)
    return answer
