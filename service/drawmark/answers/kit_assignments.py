"""Who shoots which set of the rack tonight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final, NotRequired, TypedDict

import numpy as np

from drawmark.answers.club.members import MOST_ARCHERS, MOST_SETS, QueuedArcher, RackSet
from drawmark.answers.club.pairs import MOST_BLOCKS
from drawmark.answers.club.rack_session import RackSession, judge_rack
from drawmark.answers.club.unequipped import Unequipped, explain
from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import (
    ArcherId,
    LaunchLoad,
    Length,
    NotTold,
    OverallVerdict,
    SetId,
    Status,
)
from drawmark.answers.common.common_response import Aggregate, Common, encode_texts
from drawmark.answers.common.context import Context
from drawmark.answers.common.findings import Finding, deciding_response
from drawmark.answers.common.minimum import minimum_length_of, shortest_safe
from drawmark.answers.common.recommended_window import window_in
from drawmark.fitting import fields
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.kit.sharing import share_sets
from drawmark.fitting.model import DRAW
from drawmark.rules.model import Measure
from drawmark.rules.outcome import NotChecked, Outcome

NEEDS = (f"archers[] {DRAW}", "sets[] arrow.length")

_UNSTATED: Final = {
    name: NotChecked("core", "", what, (f"archers.asked.{name}",))
    for name, what in (
        ("nock_size", "Fit of the nock on the string."),
        ("vanes", "Vanes that clear the bow."),
        ("material", "Material of the shafts."),
    )
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The archers who wait, the rack, and how many arrows each archer gets."""

    archers: tuple[QueuedArcher, ...] = fields.part(
        QueuedArcher,
        "The archers. If all else is equal, those earlier in the list come first.",
        fewest=1,
        most=MOST_ARCHERS,
    )
    sets: tuple[RackSet, ...] = fields.part(
        RackSet,
        "The sets of the rack. Archers and sets that differ in which fields they have make at "
        f"most {MOST_BLOCKS} combinations. Those with tapered shafts count twice.",
        fewest=1,
        most=MOST_SETS,
    )
    arrows_per_archer: int = fields.whole(
        1, 144, "Arrows that each archer gets. A large set may serve several archers."
    )
    least_arrows: int | None = fields.whole(
        1,
        144,
        "Arrows that will do for one archer where a set has no more, or has no more left. All "
        "others get `arrows_per_archer`, even if smaller shares would serve more archers.",
        default=None,
    )


class Assignment(TypedDict):
    """The set that one archer shoots."""

    archer: ArcherId
    set: SetId
    verdict: OverallVerdict
    margin: Annotated[
        Length,
        "How much longer the set's shortest arrow is than `minimum` in this archer's fit check.",
    ]
    in_window: Annotated[bool, "Whether the set has a recommended length."]
    findings: Annotated[list[Finding], "Findings that decide the verdict."]
    launch_load: NotRequired[LaunchLoad]
    arrows: NotRequired[Annotated[int, "Arrows that this archer gets. Given if `least_arrows` is."]]
    shared_with: NotRequired[
        Annotated[
            list[str],
            "`id` of each archer of another detail who shoots the same set. Collect and inspect "
            "the arrows in between. Given if the archers state `detail`.",
        ]
    ]


class AssignmentsAnswer(Common):
    """Who shoots which set, and who has none."""

    status: Status
    assignments: Annotated[
        list[Assignment],
        "Who shoots which set. These criteria decide, in this order: (1) most archers served with "
        "such shares; "
        "(2) most of them with the verdict `pass`; (3) most with a usual length, the recommended "
        "one, and all the arrows asked for; (4) greatest least margin; (5) launch loads nearest "
        "the middle, 1.35; (6) order of arrival, the archers' and then the sets'. Each detail has "
        "the whole rack, and is served by itself.",
    ]
    unequipped: Annotated[list[Unequipped], "Archers without a set, and what would help."]
    equipped: Annotated[int, "Number of archers who have a set."]
    in_window: Annotated[int, "Number of archers who have a set of a recommended length."]
    not_told: NotTold


def answer(request: Request, context: Context) -> AssignmentsAnswer:
    """Give each archer a safe set, as many archers as possible; say what the others would need."""
    least = request.least_arrows or request.arrows_per_archer
    if least > request.arrows_per_archer:
        detail = "This is more than arrows_per_archer."
        raise FittingError(Fault(path=("least_arrows",), detail=detail))
    session = judge_rack(request.archers, request.sets, least, context)
    pairs = session.pairs
    found = share_sets(
        allowed=pairs.safe & session.suits,
        passes=pairs.passes,
        in_window=pairs.in_window,
        margin=pairs.margin,
        launch_load=pairs.launch_load,
        counts=np.array([one.count for one in request.sets]),
        each=request.arrows_per_archer,
        least=request.least_arrows,
        details=_details_of(request.archers),
    )
    aggregate = Aggregate()
    aggregate.add_parts(pairs.unevaluated, pairs.not_checked)
    given: list[Assignment] = []
    left: list[Unequipped] = []
    for archer, share in enumerate(found):
        if share is None:
            left.append(explain(session, archer))
            continue
        place = share.place
        # A rule may speak of columns otherwise than of a single pair: the single pair decides.
        outcome = session.check(archer, place)
        aggregate.add(outcome)
        if outcome.is_safe:
            one = _assigned_response(session, archer, place, outcome)
            if request.least_arrows is not None:
                one["arrows"] = share.arrows
            given.append(one)
        else:
            left.append(explain(session, archer, refused=place))
    _tell_shared(given, request.archers)
    aggregate.determinate = aggregate.determinate and bool(pairs.determinate.all())
    aggregate.add_facts(session.facts)
    return {
        "status": aggregate.status,
        "assignments": given,
        "unequipped": left,
        "equipped": len(given),
        "in_window": sum(one["in_window"] for one in given),
        "not_told": encode_texts(cautions.NOT_TOLD),
        **aggregate.response(context, cautions.FIT, *_unstated(request.archers)),
    }


def _assigned_response(
    session: RackSession, archer: int, place: int, outcome: Outcome
) -> Assignment:
    arrow, facts, bow = session.arrows[place], outcome.facts, session.shooters[archer].bow
    assert arrow.length is not None
    window = window_in(outcome, bow, arrow)
    minimum = shortest_safe(minimum_length_of(outcome), facts, bow, arrow)
    answer: Assignment = {
        "archer": session.archers[archer].id,
        "set": session.sets[place].id,
        "verdict": outcome.verdict,
        "margin": Measure(float(arrow.length) - float(minimum), down=True),
        "in_window": window.holds(float(arrow.length)),
        "findings": deciding_response(outcome),
    }
    if facts.launch_load is not None:
        answer["launch_load"] = Measure(facts.launch_load, "number")
    return answer


def _details_of(archers: tuple[QueuedArcher, ...]) -> tuple[str | None, ...] | None:
    """Give the detail of each archer, None if none is stated; FittingError if some are."""
    details = tuple(one.detail for one in archers)
    if all(one is None for one in details):
        return None
    if None in details:
        path = ("archers", details.index(None), "detail")
        raise FittingError(Fault(path=path, detail="This is needed if other archers state it."))
    return details


def _tell_shared(given: list[Assignment], archers: tuple[QueuedArcher, ...]) -> None:
    """Name beside each archer those of other details with the same set."""
    details = {one.id: one.detail for one in archers}
    if None in details.values():
        return
    shooters: dict[str, list[str]] = {}
    for one in given:
        shooters.setdefault(one["set"], []).append(one["archer"])
    for one in given:
        own = details[one["archer"]]
        one["shared_with"] = [each for each in shooters[one["set"]] if details[each] != own]


def _unstated(archers: tuple[QueuedArcher, ...]) -> list[NotChecked]:
    return [
        said
        for name, said in _UNSTATED.items()
        if any(getattr(one.asked, name) is None for one in archers)
    ]
