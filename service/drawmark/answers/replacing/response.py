"""The candidates of a replacement in an answer, and their order."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Final, NotRequired, TypedDict

from drawmark.answers.common.answer_types import (
    ArrowLength,
    ArrowMass,
    BalanceNote,
    FrontOfCentre,
    Mass,
    Percent,
    PlaceInRequest,
    ThePointMass,
    TubeLength,
)
from drawmark.answers.common.arrow_state import EquivalentSpine
from drawmark.answers.common.findings import Finding
from drawmark.answers.replacing.candidates import CandidateShaft, Made
from drawmark.answers.replacing.judging import Judged
from drawmark.fitting.mechanics.arrow_validation import length_of, projection_of, shaft_of
from drawmark.fitting.mechanics.matching import ALIKE
from drawmark.fitting.mechanics.point_mass import unusual_balance
from drawmark.fitting.mechanics.weighing import front_of_centre, front_of_centre_of, weigh
from drawmark.fitting.model import Arrow
from drawmark.rules.model import Measure, Verdict

_REFUSED: Final = " The fit check would not let it be shot: see the findings."


class StiffnessDifference(TypedDict):
    """How much stiffer an arrow acts than the present one, by each measure."""

    free_vibration: Annotated[Percent, "By the frequency of free vibration."]
    launch: Annotated[Percent, "By the critical launch force."]


class Compared(TypedDict):
    """How an arrow acts beside the present one."""

    equivalent_static_spine: Annotated[
        EquivalentSpine,
        "Static spine that the present arrow would need to act the same. There are two measures. "
        "Do not average them.",
    ]
    stiffness_difference: Annotated[
        StiffnessDifference,
        "How much stiffer it acts, in per cent of the present stiffness. Negative if it acts "
        "weaker.",
    ]
    measures_disagree: Annotated[
        bool, "Whether one measure says that it acts stiffer and the other that it acts weaker."
    ]


class LengthAndPoint(TypedDict):
    """A length and a point mass."""

    length: ArrowLength
    point_mass: ThePointMass


class NotedBalance(TypedDict):
    """What is unusual about a balance."""

    note: NotRequired[BalanceNote]


class MadeArrow(LengthAndPoint, Compared, NotedBalance):
    """A candidate cut and pointed so that it acts as much like the present arrow as it can."""

    tube_length: TubeLength
    mass: ArrowMass
    mass_difference: Annotated[Mass, "How much heavier it is than the present arrow."]
    front_of_centre: FrontOfCentre
    front_of_centre_difference: Annotated[
        Percent, "How much further forward it balances, in per cent of the length."
    ]


class Replacement(TypedDict):
    """What one candidate could do."""

    index: PlaceInRequest
    id: NotRequired[Annotated[str, "`id` of the candidate, where it was given."]]
    unchanged: NotRequired[
        Annotated[
            Compared,
            "The candidate at the present length and with the present point. Left out if the "
            "shaft is too short for that.",
        ]
    ]
    exact: NotRequired[
        Annotated[
            LengthAndPoint,
            "Allowed length and point mass that act like the present arrow by both measures.",
        ]
    ]
    made: NotRequired[
        Annotated[
            MadeArrow,
            "The nearest that the saw and the available points allow. Longer if in doubt.",
        ]
    ]
    verdict: NotRequired[Annotated[Verdict, "Verdict of the fit check of `made`."]]
    findings: NotRequired[Annotated[list[Finding], "Findings that decide the verdict."]]
    reason: Annotated[str, "Why it stands where it does in the list."]


@dataclass(frozen=True, kw_only=True, slots=True)
class Known:
    """The known arrow's figures, with which the candidates are compared [SI]."""

    static_spine: float
    mass: float
    front_of_centre: float

    @classmethod
    def of(cls, arrow: Arrow) -> Known:
        """Work them out."""
        return cls(
            static_spine=float(shaft_of(arrow).static_spine or 0.0),
            mass=float(weigh(arrow)[0]),
            front_of_centre=float(front_of_centre_of(arrow)),
        )


def rank(made: Made, judged: Judged | None, at: int) -> tuple[int, float, int]:
    """Place a candidate: what may be shot first, then what acts most alike."""
    if made.arrow is None:
        return 2, 0.0, at
    barred = judged is not None and not judged.may_be_shot
    return int(barred), round(made.difference, 6), at


def replacement_response(
    known: Known, at: int, shaft: CandidateShaft, made: Made, judged: Judged | None
) -> Replacement:
    """Give one candidate."""
    answer: Replacement = {"index": at, "reason": _reason(made, judged)}
    if shaft.id is not None:
        answer["id"] = shaft.id
    if made.unchanged is not None:
        answer["unchanged"] = _compared(known, made.unchanged)
    if made.exact is not None:
        length, point = made.exact
        answer["exact"] = {
            "length": Measure(length, up=True),
            "point_mass": Measure(point, "mass"),
        }
    if made.arrow is not None:
        answer["made"] = _made_response(known, made.arrow, made.stiffer)
    if judged is not None:
        answer["verdict"] = judged.verdict
        answer["findings"] = judged.findings
    return answer


def _compared(known: Known, stiffer: tuple[float, float]) -> Compared:
    vibration, launch = map(math.exp, stiffer)
    low, high = sorted(stiffer)
    return {
        "equivalent_static_spine": {
            "free_vibration": Measure(known.static_spine * vibration, "static_spine"),
            "launch": Measure(known.static_spine * launch, "static_spine"),
        },
        "stiffness_difference": {
            "free_vibration": Measure(100 * (vibration - 1), "percent"),
            "launch": Measure(100 * (launch - 1), "percent"),
        },
        "measures_disagree": low < -ALIKE and high > ALIKE,
    }


def _made_response(known: Known, arrow: Arrow, stiffer: tuple[float, float]) -> MadeArrow:
    assert arrow.point is not None
    length = float(length_of(arrow))
    mass, moment = (float(each) for each in weigh(arrow))
    balance = float(front_of_centre(length, moment / mass))
    return {
        "length": Measure(length, up=True),
        "tube_length": Measure(length - float(projection_of(arrow)), up=True),
        "point_mass": Measure(arrow.point.mass or 0.0, "mass"),
        **_compared(known, stiffer),
        "mass": Measure(mass, "mass"),
        "mass_difference": Measure(mass - known.mass, "mass"),
        "front_of_centre": Measure(balance, "percent"),
        "front_of_centre_difference": Measure(balance - known.front_of_centre, "percent"),
        **_balance_response(balance),
    }


def _balance_response(balance: float) -> NotedBalance:
    note = unusual_balance(balance)
    return {} if note is None else {"note": note}


def _reason(made: Made, judged: Judged | None) -> str:
    if made.arrow is None:
        return made.reason
    by_vibration, by_launch = (_told(math.exp(each) - 1) for each in made.stiffer)
    text = f"By vibration it acts {by_vibration}, by launch force {by_launch}."
    if made.reason:
        text += f" {made.reason}"
    return text if judged is None or judged.may_be_shot else text + _REFUSED


def _told(share: float) -> str:
    percent = round(100 * abs(share), 1)
    if not percent:
        return "the same"
    return f"{percent:.1f} % {'stiffer' if share > 0 else 'weaker'}"
