"""Which shafts to order, and how long to have them cut."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from drawmark.answers.common import cautions
from drawmark.answers.common.common_response import Aggregate
from drawmark.answers.common.context import Answer, Context
from drawmark.answers.common.findings import deciding_response
from drawmark.answers.common.minimum import derivation_response, minimum_response
from drawmark.answers.cutting.order_lines import Line, group
from drawmark.answers.cutting.set_length import Choice, OrderSet, choose_length
from drawmark.fitting import fields
from drawmark.fitting.model import DRAW, Arrow, Fault, FittingError
from drawmark.fitting.units import UNITS
from drawmark.rules.model import CORE, Measure
from drawmark.rules.outcome import NotChecked

NEEDS = (f"sets[] wanted_length|{DRAW}",)
MOST_SETS: Final = 200
_NOBODY: Final = "Minimum safe length of set {}: no archer is named."
_NO_NOCK: Final = "Tube length of set {}: the nock's projection was not given and counts as none."
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


def answer(request: Request, context: Context) -> Answer:
    """List shafts by length, uncut where length is left for tuning or a minimum is in doubt."""
    choices: list[Choice] = []
    faults: list[Fault] = []
    for place, one in enumerate(request.sets):
        local = {**context.local, **(one.local or {})}
        try:
            choices.append(choose_length(one, context.with_local(local), request.saw_increment))
        except FittingError as error:
            faults.extend(replace(each, path=("sets", place, *each.path)) for each in error.faults)
    if faults:
        raise FittingError(*faults)
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
            _set_response(one, choice, request.saw_increment)
            for one, choice in zip(request.sets, choices, strict=True)
        ],
        **_together_response(request, choices, context),
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


def _line_response(line: Line) -> Answer:
    return {
        "shaft": line.shaft,
        "arrow_length": Measure(line.length, up=True),
        "tube_length": Measure(line.tube, up=True),
        "uncut": line.uncut,
        "count": line.count,
        "stock_length": Measure(line.stock),
        "sets": list(line.sets),
    }


def _set_response(one: OrderSet, choice: Choice, increment: float | None) -> Answer:
    answer: Answer = {
        "id": one.id,
        "cut": choice.cut,
        "uncut": one.shafts + one.spares - choice.cut,
        "reason": choice.reason,
    }
    if choice.candidate is not None:
        outcome, arrow = choice.candidate.outcome, choice.candidate.arrow
        assert one.bow is not None
        answer |= minimum_response(outcome, one.bow, arrow, increment)
        answer["derivation"] = derivation_response(outcome, one.bow, arrow)
        answer["verdict"] = outcome.verdict
        answer["findings"] = deciding_response(outcome)
    return answer


def _together_response(request: Request, choices: list[Choice], context: Context) -> Answer:
    aggregate = Aggregate()
    for choice in choices:
        if choice.candidate is not None:
            aggregate.add(choice.candidate.outcome)
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
    return {
        "status": aggregate.status,
        **aggregate.response(context, _CAUTIONS, *nobody, *unmeasured),
    }
