"""Where an arrow balances, and which point would move that."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NotRequired, TypedDict

from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import (
    ArrowLength,
    ArrowMass,
    FrontOfCentre,
    Length,
    Mass,
    Percent,
)
from drawmark.answers.common.arrow_state import PointMass, point_mass_response
from drawmark.answers.common.common_response import CommonWithoutRules, NotChecked, engine_response
from drawmark.answers.common.context import Context
from drawmark.answers.common.derivation import (
    Assumptions,
    FigureSources,
    assumptions_response,
    sources_response,
)
from drawmark.answers.common.measured_mass import carry_over, contradictions_of
from drawmark.answers.common.total_mass import ToReachMass, to_reach_mass_response
from drawmark.fitting import fields, limits
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.mechanics.arrow_parts import cut, parts_of
from drawmark.fitting.mechanics.arrow_validation import faults_of, missing_from
from drawmark.fitting.mechanics.balance import front_of_centre_range
from drawmark.fitting.mechanics.point_mass import point_mass_for
from drawmark.fitting.mechanics.weighing import front_of_centre, weigh
from drawmark.fitting.model import Arrow
from drawmark.fitting.units import GRAIN, POUND_FORCE
from drawmark.rules.model import Measure

_SOURCES = (
    ("front_of_centre", "foc-formula"),
    ("front_of_centre_range", "rear-parts"),
    ("balance_point", "astm-f1435"),
    ("point_mass_for_wanted", "foc-formula"),
    ("to_reach_wanted_mass", "euler-beam"),
    ("to_reach_wanted_mass", "launch-buckling"),
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
    wanted_mass: float | None = fields.mass(
        0.005, 0.2, "Mass of the whole arrow that is wanted.", default=None
    )
    wanted_grains_per_pound: float | None = fields.number(
        5.0,
        25.0,
        "The same as grains of arrow for each pound of draw weight, as school bows are often "
        "fitted (common practice, no source). It needs `draw_weight`. Below 5 is the arrow of a "
        "speed test.",
        default=None,
    )
    draw_weight: float | None = fields.force(
        10.0, 900.0, "Draw weight at the archer's own draw.", default=None
    )
    wanted_length: float | None = fields.length(
        0.30, 1.20, "Arrow length after a cut, for the same figures.", default=None
    )
    cut_end: str = fields.choice(("front", "rear"), "End that is cut.", default="front")


class FrontOfCentreRange(TypedDict):
    """Between what front of centre lies."""

    low: Annotated[Percent, "Lower end."]
    high: Annotated[Percent, "Upper end."]


class ArrowPart(TypedDict):
    """One part of an arrow."""

    name: Annotated[str, "Name of the part."]
    mass: Annotated[Mass, "Mass of the part."]
    centre: Annotated[Length, "Distance of its centre of mass from the bottom of the nock slot."]


class Masses(TypedDict):
    """What an arrow and its parts weigh."""

    mass: NotRequired[ArrowMass]
    mass_of_parts: NotRequired[Annotated[Mass, "Sum of the masses of the parts."]]
    parts: NotRequired[Annotated[list[ArrowPart], "Parts of the arrow."]]


class WantedPoint(TypedDict):
    """The point for a front of centre that is wanted."""

    point_mass_for_wanted: NotRequired[
        Annotated[PointMass, "Point mass that gives the wanted front of centre."]
    ]


class WantedMass(TypedDict):
    """What brings the arrow to a mass that is wanted."""

    to_reach_wanted_mass: NotRequired[
        Annotated[ToReachMass, "The point, or the shaft, that gives the wanted mass."]
    ]


class Balance(Masses, WantedPoint, WantedMass):
    """What an arrow weighs and where it balances."""

    length: ArrowLength
    balance_point: Annotated[
        Length, "Distance of the balance point from the bottom of the nock slot."
    ]
    front_of_centre: FrontOfCentre
    front_of_centre_range: Annotated[
        FrontOfCentreRange,
        "Range of front of centre. It is wide if the centre of the point's mass is not known, or "
        "the mass of nock or vanes.",
    ]


class AfterCut(TypedDict):
    """What a cut makes of the balance."""

    after_cut: NotRequired[Annotated[Balance, "The same figures after the cut."]]


class BalanceAnswer(Balance, AfterCut, CommonWithoutRules):
    """The arrow's mass and where it balances."""

    assumptions: Assumptions
    derivation: FigureSources


def answer(request: Request, context: Context) -> BalanceAnswer:
    """Give mass, balance point and front of centre, as measured and from the parts."""
    arrow = request.arrow
    if faults := faults_of(arrow):
        raise FittingError(*faults)
    # Of the arrow as it was measured: a cut neither makes a contradiction nor heals one.
    warnings = contradictions_of(arrow)
    result = _balance_response(arrow, request, warnings)
    more: AfterCut = {}
    if request.wanted_length is not None:
        if limits.longer(request.wanted_length, arrow.length or 0.0):
            raise FittingError(
                Fault(path=("wanted_length",), detail="A cut cannot make an arrow longer.")
            )
        if missing_from(arrow):
            raise FittingError(*missing_from(arrow))
        shortened = cut(arrow, request.wanted_length, request.cut_end)  # type: ignore[arg-type]
        more["after_cut"] = _balance_response(carry_over(arrow, shortened), request, warnings)
    return {
        **result,
        **more,
        "derivation": sources_response(_SOURCES, result),
        "assumptions": assumptions_response(arrow),
        "not_checked": _not_checked(request),
        "cautions": [*warnings, *_light(request), cautions.AUTHORITY, cautions.LIGHT],
        "engine": engine_response(context),
    }


def _balance_response(arrow: Arrow, request: Request, warnings: list[str]) -> Balance:
    assert arrow.length is not None
    masses: Masses = {}
    whole = not missing_from(arrow)
    balance = arrow.balance_point
    if whole:
        mass, moment = weigh(arrow)
        masses["parts"] = [
            {"name": part.name, "mass": Measure(part.mass, "mass"), "centre": Measure(part.centre)}
            for part in parts_of(arrow)
        ]
        masses["mass_of_parts"] = Measure(mass, "mass")
        masses["mass"] = Measure(mass if arrow.mass is None else arrow.mass, "mass")
        if balance is None:
            balance = moment / mass
    elif arrow.mass is not None:
        masses["mass"] = Measure(arrow.mass, "mass")
    assert balance is not None
    low, high = front_of_centre_range(arrow)
    return {
        "length": Measure(arrow.length),
        **masses,
        "balance_point": Measure(balance),
        "front_of_centre": Measure(front_of_centre(arrow.length, balance), "percent"),
        "front_of_centre_range": {
            "low": Measure(low, "percent"),
            "high": Measure(high, "percent"),
        },
        **_point_response(arrow, request.wanted_front_of_centre, warnings),
        **_mass_response(arrow, request, warnings),
    }


def _point_response(arrow: Arrow, wanted: float | None, warnings: list[str]) -> WantedPoint:
    if wanted is None:
        return {}
    if lacking := missing_from(arrow):
        raise FittingError(*lacking)
    if warnings:
        return {"point_mass_for_wanted": {"reason": warnings[0]}}
    return {"point_mass_for_wanted": point_mass_response(point_mass_for(arrow, wanted))}


def _wanted_mass(request: Request) -> float | None:
    """Give the mass that is wanted [kg]; FittingError where it is not clear."""
    per_pound = request.wanted_grains_per_pound
    if per_pound is None:
        return request.wanted_mass
    if request.wanted_mass is not None:
        detail = "Give wanted_mass or wanted_grains_per_pound, not both."
        raise FittingError(Fault(path=("wanted_grains_per_pound",), detail=detail))
    if request.draw_weight is None:
        detail = "This is needed beside wanted_grains_per_pound."
        raise FittingError(Fault(path=("draw_weight",), detail=detail))
    return per_pound * GRAIN / POUND_FORCE * request.draw_weight


def _mass_response(arrow: Arrow, request: Request, warnings: list[str]) -> WantedMass:
    wanted = _wanted_mass(request)
    if wanted is None:
        return {}
    found = to_reach_mass_response(arrow, wanted, request.draw_weight, warnings)
    return {"to_reach_wanted_mass": found}


def _light(request: Request) -> list[str]:
    """Warn of a wanted mass that strains the bow."""
    wanted, weight = _wanted_mass(request), request.draw_weight
    if wanted is None or weight is None:
        return []
    if limits.less(wanted, weight * limits.ARROW_MASS_STOP):
        return [cautions.TOO_LIGHT]
    return [cautions.STRAINS] if limits.less(wanted, weight * limits.ARROW_MASS_CAUTION) else []


def _not_checked(request: Request) -> list[NotChecked]:
    if _wanted_mass(request) is None:
        return []
    told: list[NotChecked] = [
        {
            "what": "May an arrow of the wanted mass be shot? Make a fit check.",
            "fields": [],
        }
    ]
    shaft = request.arrow.shaft
    if shaft is None or shaft.static_spine is None:
        told.append({"what": "Stiffness.", "fields": ["arrow.shaft.static_spine"]})
    if request.draw_weight is None:
        told.append({"what": "Mass for the draw weight.", "fields": ["draw_weight"]})
    return told
