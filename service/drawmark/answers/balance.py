"""Where an arrow balances, and which point would move that."""

from __future__ import annotations

from dataclasses import dataclass

from drawmark.answers.common import cautions
from drawmark.answers.common.common_response import engine_response
from drawmark.answers.common.context import Answer, Context
from drawmark.answers.common.derivation import sources_response
from drawmark.answers.common.measured_mass import carry_over, contradictions_of
from drawmark.fitting import fields, limits
from drawmark.fitting.mechanics.arrow_parts import cut, parts_of
from drawmark.fitting.mechanics.arrow_validation import assumptions_of, faults_of, missing_from
from drawmark.fitting.mechanics.balance import front_of_centre_range
from drawmark.fitting.mechanics.point_mass import point_mass_for
from drawmark.fitting.mechanics.weighing import front_of_centre, weigh
from drawmark.fitting.model import Arrow, Fault, FittingError
from drawmark.rules.model import Measure

_SOURCES = (
    ("front_of_centre", "foc-formula"),
    ("balance_point", "astm-f1435"),
    ("point_mass_for_wanted", "balance-range"),
)
NEEDS = (
    "arrow.length",
    "arrow.balance_point|arrow.shaft.mass_per_length",
    "arrow.balance_point|arrow.point.mass",
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """The arrow, the balance wanted, and a length after a cut."""

    arrow: Arrow = fields.part(Arrow, "The arrow.")
    wanted_front_of_centre: float | None = fields.number(
        0.0, 40.0, "Front of centre that is wanted, in per cent.", default=None
    )
    wanted_length: float | None = fields.length(
        0.30, 1.20, "Arrow length after a cut, for the same figures.", default=None
    )
    cut_end: str = fields.choice(("front", "rear"), "End that is cut.", default="front")


def answer(request: Request, context: Context) -> Answer:
    """Give mass, balance point and front of centre, as measured and from the parts."""
    arrow = request.arrow
    if faults := faults_of(arrow):
        raise FittingError(*faults)
    # Of the arrow as it was measured: a cut neither makes a contradiction nor heals one.
    warnings = contradictions_of(arrow)
    result = _balance_response(arrow, request.wanted_front_of_centre, warnings)
    if request.wanted_length is not None:
        if limits.longer(request.wanted_length, arrow.length or 0.0):
            raise FittingError(
                Fault(path=("wanted_length",), detail="a cut cannot make an arrow longer")
            )
        if missing_from(arrow):
            raise FittingError(*missing_from(arrow))
        shortened = cut(arrow, request.wanted_length, request.cut_end)  # type: ignore[arg-type]
        result["after_cut"] = _balance_response(
            carry_over(arrow, shortened), request.wanted_front_of_centre, warnings
        )
    return {
        **result,
        "derivation": sources_response(tuple(one for one in _SOURCES if one[0] in result)),
        "assumptions": [
            {"field": ".".join(one.path), "assumed": one.text} for one in assumptions_of(arrow)
        ],
        "not_checked": [],
        "cautions": [*warnings, cautions.AUTHORITY, cautions.LIGHT],
        "engine": engine_response(context),
    }


def _balance_response(arrow: Arrow, wanted: float | None, warnings: list[str]) -> Answer:
    assert arrow.length is not None
    result: Answer = {"length": Measure(arrow.length)}
    whole = not missing_from(arrow)
    balance = arrow.balance_point
    if whole:
        mass, moment = weigh(arrow)
        result["parts"] = [
            {"name": part.name, "mass": Measure(part.mass, "mass"), "centre": Measure(part.centre)}
            for part in parts_of(arrow)
        ]
        result["mass_of_parts"] = Measure(mass, "mass")
        result["mass"] = Measure(mass if arrow.mass is None else arrow.mass, "mass")
        if balance is None:
            balance = moment / mass
    elif arrow.mass is not None:
        result["mass"] = Measure(arrow.mass, "mass")
    assert balance is not None
    result["balance_point"] = Measure(balance)
    result["front_of_centre"] = Measure(front_of_centre(arrow.length, balance), "percent")
    low, high = front_of_centre_range(arrow)
    result["front_of_centre_range"] = {
        "low": Measure(low, "percent"),
        "high": Measure(high, "percent"),
    }
    if wanted is not None:
        if not whole:
            raise FittingError(*missing_from(arrow))
        if warnings:
            result["point_mass_for_wanted"] = {"reason": warnings[0]}
            return result
        solution = point_mass_for(arrow, wanted)
        result["point_mass_for_wanted"] = (
            {"reason": solution.reason or "none"}
            if solution.value is None
            else {"point_mass": Measure(solution.value, "mass")}
        )
    return result
