"""Which shafts to order, and how long to have them cut."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Annotated, Final, NotRequired, TypedDict

from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import Length, Status, TubeLength
from drawmark.answers.common.common_response import Aggregate, Common
from drawmark.answers.common.context import Context
from drawmark.answers.common.findings import Finding, deciding_response
from drawmark.answers.common.growth_curve import Grows, curve_months, growth_curve_response
from drawmark.answers.common.minimum import (
    Derivation,
    MinimumFigure,
    MinimumOnSaw,
    derivation_response,
    minimum_response,
)
from drawmark.answers.cutting.order_lines import Line, group
from drawmark.answers.cutting.set_length import Choice, OrderSet, choose_length
from drawmark.fitting import fields
from drawmark.fitting.draw.growth_of_draw import tells_growth
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.model import DRAW, Arrow
from drawmark.fitting.units import UNITS
from drawmark.rules.model import CORE, Measure, Verdict
from drawmark.rules.outcome import NotChecked

NEEDS = (f"sets[] wanted_length|{DRAW}",)
MOST_SETS: Final = 200
MOST_FAULTS: Final = 50
"""Sets are looked at until so many faults are found: no caller is told of more."""
_NOBODY: Final = "Minimum safe length of set {}: no archer was given."
_NO_NOCK: Final = "Tube length of set {}: the nock's projection was not given and is taken as zero."
_CAUTIONS: Final = (
    cautions.AUTHORITY,
    cautions.CUTTING,
    cautions.BREAKING,
    cautions.SHEET,
)
_UNNAMED: Final = "shaft without a name"


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The sets to order."""

    sets: tuple[OrderSet, ...] = fields.part(OrderSet, "Sets of arrows.", fewest=1, most=MOST_SETS)
    saw_increment: float | None = fields.increment("Lengths are rounded up to a multiple of this.")
    curve_months: int | None = curve_months()


class OrderLine(TypedDict):
    "Shafts of an order that are the same."

    shaft: Annotated[str, "Name of the shaft."]
    arrow_length: Annotated[
        Length, "Arrow length, from the bottom of the nock slot to the front end of the shaft."
    ]
    tube_length: TubeLength
    uncut: Annotated[bool, "Whether the shafts stay as they are delivered."]
    count: Annotated[int, "Number of shafts."]
    stock_length: Annotated[Length, "Length of the shaft as it is delivered."]
    sets: Annotated[list[str], "`id` of each set that the shafts are for."]


class CheckedSet(MinimumFigure):
    """What the rules say of a set as it is ordered."""

    status: NotRequired[Status]
    minimum_on_saw: NotRequired[MinimumOnSaw]
    derivation: NotRequired[Derivation]
    verdict: NotRequired[
        Annotated[
            Verdict,
            "Verdict of the fit check of the arrow as ordered. If a cut was refused for safety, "
            "it is that of the arrow as it would be cut.",
        ]
    ]
    findings: NotRequired[Annotated[list[Finding], "Findings that decide the verdict."]]


class OrderedSet(CheckedSet, Grows):
    """How one set is ordered, and why."""

    id: Annotated[str, "`id` of the set."]
    cut: Annotated[int, "Number of shafts that are cut."]
    uncut: Annotated[int, "Number of shafts that are not cut."]
    reason: Annotated[str, "Why."]


class OrderAnswer(Common):
    """Which shafts to order, and how long to have them cut."""

    lines: Annotated[list[OrderLine], "Shafts that are ordered and cut the same way."]
    total: Annotated[int, "Number of all shafts."]
    total_uncut: Annotated[int, "Number of shafts that stay uncut."]
    sets: Annotated[list[OrderedSet], "How each set is ordered, and why."]
    status: Status


def answer(request: Request, context: Context) -> OrderAnswer:
    """List shafts by length, uncut where length is left for tuning or a minimum is in doubt."""
    choices: list[Choice] = []
    faults: list[Fault] = []
    for place, one in enumerate(request.sets):
        local = {**context.local, **(one.local or {})}
        try:
            choices.append(choose_length(one, context.with_local(local), request.saw_increment))
        except FittingError as error:
            faults.extend(replace(each, path=("sets", place, *each.path)) for each in error.faults)
            if len(faults) >= MOST_FAULTS:
                break
    if faults:
        raise FittingError(*faults)
    aggregate = Aggregate()
    for choice in choices:
        if choice.candidate is not None:
            aggregate.add(choice.candidate.outcome)
    lines = group(
        line
        for one, choice in zip(request.sets, choices, strict=True)
        for line in _lines_of(one, choice)
    )
    return {
        "lines": [_line_response(line) for line in lines],
        "total": sum(line.count for line in lines),
        "total_uncut": sum(line.count for line in lines if line.uncut),
        "sets": [
            {
                **_set_response(one, choice, request.saw_increment),
                **_curve_response(one, choice, request.curve_months, context),
            }
            for one, choice in zip(request.sets, choices, strict=True)
        ],
        "status": aggregate.status,
        **aggregate.response(context, _CAUTIONS, *_not_checked(request, choices)),
    }


def _lines_of(one: OrderSet, choice: Choice) -> Iterable[Line]:
    whole = Line(
        shaft=one.shaft or _name_of(one.arrow),
        kind=None if one.arrow is None else one.arrow.shaft,
        stock=one.stock_length,
        length=one.stock_length + choice.projection,
        tube=one.stock_length,
        uncut=True,
        count=one.shafts + one.spares - choice.cut,
        sets=(one.id,),
    )
    if choice.length is not None:
        yield replace(
            whole,
            length=choice.length,
            tube=choice.length - choice.projection,
            uncut=False,
            count=choice.cut,
        )
    if whole.count:
        yield whole


def _name_of(arrow: Arrow | None) -> str:
    if arrow is None or arrow.shaft is None or arrow.shaft.static_spine is None:
        return _UNNAMED
    return f"static spine {float(UNITS['astm'].from_si(arrow.shaft.static_spine)):.0f}"


def _line_response(line: Line) -> OrderLine:
    return {
        "shaft": line.shaft,
        "arrow_length": Measure(line.length, up=True),
        "tube_length": Measure(line.tube, up=True),
        "uncut": line.uncut,
        "count": line.count,
        "stock_length": Measure(line.stock),
        "sets": list(line.sets),
    }


def _set_response(one: OrderSet, choice: Choice, increment: float | None) -> OrderedSet:
    ordered: OrderedSet = {
        "id": one.id,
        "cut": choice.cut,
        "uncut": one.shafts + one.spares - choice.cut,
        "reason": choice.reason,
    }
    return {**ordered, **_checked_response(one, choice, increment)}


def _curve_response(one: OrderSet, choice: Choice, months: int | None, context: Context) -> Grows:
    if choice.candidate is None or one.archer is None or not tells_growth(one.archer):
        return {}
    assert one.bow is not None
    own = context.with_local({**context.local, **(one.local or {})})
    return growth_curve_response(one.archer, one.bow, choice.candidate.arrow, months, own)


def _checked_response(one: OrderSet, choice: Choice, increment: float | None) -> CheckedSet:
    if choice.candidate is None:
        return {}
    outcome, arrow = choice.candidate.outcome, choice.candidate.arrow
    assert one.bow is not None
    return {
        **minimum_response(outcome, one.bow, arrow, increment),
        "derivation": derivation_response(outcome, one.bow, arrow),
        "verdict": outcome.verdict,
        "findings": deciding_response(outcome),
    }


def _not_checked(request: Request, choices: list[Choice]) -> list[NotChecked]:
    nobody = [
        NotChecked(CORE, "minimum-length", _NOBODY.format(one.id), ("archer", "bow"))
        for one, choice in zip(request.sets, choices, strict=True)
        if choice.candidate is None
    ]
    unmeasured = [
        NotChecked(CORE, "", _NO_NOCK.format(one.id), ("arrow.nock.projection",))
        for one in request.sets
        if one.arrow is None or one.arrow.nock is None or one.arrow.nock.projection is None
    ]
    return [*nobody, *unmeasured]
