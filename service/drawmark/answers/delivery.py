"""What arrived against what was ordered, and what a short arrow is still good for."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Final, Literal, NotRequired, TypedDict

from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import ArrowLength, Length, OverallVerdict, Status
from drawmark.answers.common.archer_at_draw import Trials, spread_at_any
from drawmark.answers.common.common_response import Aggregate, Common
from drawmark.answers.common.context import Context
from drawmark.answers.common.findings import Finding, deciding_response
from drawmark.answers.common.longest_draw_search import (
    Longest,
    LongestDrawFigure,
    find_longest_draw,
    longest_draw_response,
)
from drawmark.answers.common.minimum import MinimumFigure, MinimumOnSaw, minimum_response
from drawmark.fitting import fields, limits
from drawmark.fitting.draw.draw_length import offset_of
from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.mechanics.arrow_facts import arrow_facts_of_each
from drawmark.fitting.mechanics.arrow_validation import faults_of
from drawmark.fitting.model import DRAW, Archer, Arrow, Bow, Fitting
from drawmark.rules.evaluate import evaluate
from drawmark.rules.model import CORE, Measure
from drawmark.rules.outcome import NotChecked, Outcome

NEEDS = (f"sets[] ordered_length|{DRAW}",)
MOST_SETS: Final = 50
MOST_ARROWS: Final = 50
Against = Literal["as_ordered", "longer", "shorter"]
Use = Literal["shoot", "shorter_draw", "set_aside", "not_checked"]
_NOBODY: Final = "May the arrows of set {} be shot? No archer was given."


@dataclass(frozen=True, kw_only=True, slots=True)
class DeliveredSet:
    """The arrows of one set that arrived."""

    id: str = fields.text(100, "Name of the set, as in the order.")
    ordered_length: float = fields.length(0.30, 1.20, "Arrow length on the order's sheet.")
    arrived: tuple[float, ...] = fields.quantity(
        "length",
        0.30,
        1.20,
        "Length of each arrow that arrived, measured from the bottom of the nock slot to the front "
        "end of the shaft.",
        fewest=1,
        most=MOST_ARROWS,
    )
    archer: Archer | None = fields.part(Archer, "The archer who is to shoot them.", default=None)
    bow: Bow | None = fields.part(Bow, "The bow. It is needed beside an archer.", default=None)
    arrow: Arrow | None = fields.part(
        Arrow, "The arrow's parts. Its length is ignored.", default=None
    )
    local: Mapping[str, object] | None = fields.local("Inputs of local rules for this archer.")


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """What arrived, and what was ordered."""

    sets: tuple[DeliveredSet, ...] = fields.part(
        DeliveredSet, "The sets that arrived.", fewest=1, most=MOST_SETS
    )
    tolerance: float = fields.length(
        0.0,
        0.01,
        "How far from the ordered length still counts as ordered. If left out, 1 mm.",
        default=limits.LEAST_ODD_LENGTH,
    )


class DeliveredArrow(TypedDict):
    """One arrow that arrived."""

    index: Annotated[int, "Its place in `arrived`, from 0."]
    length: ArrowLength
    difference: Annotated[Length, "Its length less the ordered one: negative if it is shorter."]
    against_order: Annotated[Against, "How it compares with the order."]
    verdict: NotRequired[Annotated[OverallVerdict, "Verdict of the fit check of this arrow."]]
    use: Annotated[
        Use,
        "What may be done with it: `shoot`, as far as the set's findings allow; `shorter_draw`, "
        "not for this archer, but for one who draws no further than `longest_safe_draw` from such "
        "a bow; `set_aside`, no safe use was found; `not_checked`, no archer was given.",
    ]


class DeliveredCheck(MinimumFigure, LongestDrawFigure):
    """What the rules say of the shortest arrow of a set."""

    status: NotRequired[Status]
    minimum_on_saw: NotRequired[MinimumOnSaw]
    verdict: NotRequired[
        Annotated[OverallVerdict, "Verdict of the fit check of the shortest arrow of the set."]
    ]
    findings: NotRequired[Annotated[list[Finding], "Findings that decide the worst verdict."]]


class SetThatArrived(DeliveredCheck):
    """One set that arrived."""

    id: Annotated[str, "`id` of the set."]
    ordered_length: ArrowLength
    shortest_length: Annotated[Length, "Length of the shortest arrow. It decides for the set."]
    arrows: Annotated[list[DeliveredArrow], "The arrows, in the order in which they came."]
    as_ordered: Annotated[int, "Number of arrows of the ordered length."]
    longer: Annotated[int, "Number of arrows that are longer. They may still be cut."]
    shorter: Annotated[int, "Number of arrows that are shorter than ordered."]
    not_to_be_shot: Annotated[int, "Number of arrows that this archer may not shoot."]


class DeliveryAnswer(Common):
    """Which arrows of a delivery are short, and what may still be done with them."""

    sets: Annotated[list[SetThatArrived], "The sets that arrived."]
    shorter: Annotated[int, "Number of arrows that are shorter than ordered, in all sets."]
    not_to_be_shot: Annotated[int, "Number of arrows that their archers may not shoot."]
    status: Status


def answer(request: Request, context: Context) -> DeliveryAnswer:
    """Compare each arrow with the order, and check it for its archer at its own length."""
    verify_sets(request.sets)
    aggregate = Aggregate()
    found = [
        _set_response(one, request.tolerance, context, aggregate, place)
        for place, one in enumerate(request.sets)
    ]
    nobody = [
        NotChecked(CORE, "minimum-length", _NOBODY.format(one.id), ("archer", "bow"))
        for one in request.sets
        if one.archer is None
    ]
    aggregate.determinate = aggregate.determinate and not nobody
    return {
        "sets": found,
        "shorter": sum(one["shorter"] for one in found),
        "not_to_be_shot": sum(one["not_to_be_shot"] for one in found),
        "status": aggregate.status,
        **aggregate.response(context, (*cautions.FIT, cautions.CUTTING), *nobody),
    }


def verify_sets(sets: Sequence[DeliveredSet]) -> None:
    """Raise FittingError for parts that are missing or contradict each other."""
    faults = []
    for place, one in enumerate(sets):
        if one.archer is not None and one.bow is None:
            detail = "This is needed beside the archer."
            faults.append(Fault(path=("sets", place, "bow"), detail=detail))
        for fault in faults_of(_at_length(one, min(one.arrived))):
            faults.append(dataclasses.replace(fault, path=("sets", place, *fault.path)))
    if faults:
        raise FittingError(*faults)


def _at_length(one: DeliveredSet, length: float) -> Arrow:
    return dataclasses.replace(one.arrow or Arrow(), length=length)


def _set_response(
    one: DeliveredSet, tolerance: float, context: Context, aggregate: Aggregate, place: int
) -> SetThatArrived:
    own = context.with_local({**context.local, **(one.local or {})})
    outcomes: dict[float, Outcome] = {}
    uses: dict[float, Use] = {}
    longest: Longest | None = None
    if one.archer is not None and one.bow is not None:
        try:
            trials = _trials_of(one, one.archer, one.bow, own)
            outcomes = {length: _check(each) for length, each in trials.items()}
            longest = find_longest_draw(trials[min(one.arrived)])
        except FittingError as error:
            moved = [
                dataclasses.replace(each, path=("sets", place, *each.path)) for each in error.faults
            ]
            raise FittingError(*moved) from error
        uses = {length: _use_of(outcomes[length], trials[length], longest) for length in trials}
    for outcome in outcomes.values():
        aggregate.add(outcome)
    arrows = [
        _arrow_response(one, index, length, tolerance, outcomes.get(length), uses)
        for index, length in enumerate(one.arrived)
    ]
    counts = Counter(arrow["against_order"] for arrow in arrows)
    answer: SetThatArrived = {
        "id": one.id,
        "ordered_length": Measure(one.ordered_length),
        "shortest_length": Measure(min(one.arrived), down=True),
        "arrows": arrows,
        "as_ordered": counts["as_ordered"],
        "longer": counts["longer"],
        "shorter": counts["shorter"],
        "not_to_be_shot": sum(arrow["use"] in ("shorter_draw", "set_aside") for arrow in arrows),
    }
    if one.bow is None or one.archer is None or longest is None:
        return answer
    outcome = outcomes[min(one.arrived)]
    offset = float(offset_of(one.archer.draw_length_convention or "standard", one.bow))
    checked: DeliveredCheck = {
        "verdict": outcome.verdict,
        "findings": deciding_response(outcome),
    }
    return {
        **answer,
        **checked,
        **minimum_response(outcome, one.bow, _at_length(one, min(one.arrived))),
        **longest_draw_response(longest, offset),
    }


def _trials_of(
    one: DeliveredSet, archer: Archer, bow: Bow, context: Context
) -> dict[float, Trials]:
    """Make trials of each length that arrived, with what is known of its arrow."""
    lengths = sorted(set(one.arrived))
    arrows = [_at_length(one, length) for length in lengths]
    if faults := faults_of(arrows[0]):
        raise FittingError(*faults)
    known, spread = arrow_facts_of_each(arrows), spread_at_any(archer, bow)
    return {
        length: Trials(archer, bow, arrow, context, facts, spread)
        for length, arrow, facts in zip(lengths, arrows, known, strict=True)
    }


def _check(trials: Trials) -> Outcome:
    """Check the archer at the own draw."""
    fitting = Fitting(archer=trials.archer, bow=trials.bow, arrow=trials.arrow)
    facts = facts_of(fitting, arrow_facts=trials.arrow_facts)
    return evaluate(fitting, trials.context.ruleset, trials.context.local, False, facts)


def _use_of(outcome: Outcome, trials: Trials, longest: Longest) -> Use:
    """Tell what an arrow is good for; a shorter draw only where that was checked."""
    if outcome.is_safe:
        return "shoot"
    if longest.draw is None or not longest.determinate:
        return "set_aside"
    return "shorter_draw" if trials.check(longest.draw).is_safe else "set_aside"


def _arrow_response(
    one: DeliveredSet,
    index: int,
    length: float,
    tolerance: float,
    outcome: Outcome | None,
    uses: Mapping[float, Use],
) -> DeliveredArrow:
    against: Against = "as_ordered"
    if limits.shorter(length, one.ordered_length - tolerance):
        against = "shorter"
    elif limits.longer(length, one.ordered_length + tolerance):
        against = "longer"
    answer: DeliveredArrow = {
        "index": index,
        "length": Measure(length),
        "difference": Measure(length - one.ordered_length),
        "against_order": against,
        "use": uses.get(length, "not_checked"),
    }
    if outcome is not None:
        answer["verdict"] = outcome.verdict
    return answer
