"""The length at which one set is ordered, and how many of its shafts are cut."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from drawmark.answers.common.advice import advise
from drawmark.answers.common.context import Context
from drawmark.answers.cutting.candidates import Candidate, Candidates, survey
from drawmark.fitting import fields, limits
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.mechanics.arrow_validation import projection_of
from drawmark.fitting.model import Archer, Arrow, Bow
from drawmark.fitting.rounding import round_up

_DOUBT: Final = (
    "A rule that may require a longer arrow could not be evaluated. Order the set uncut."
)
_ESTIMATE: Final = (
    "The draw is only an estimate from the arm span. Order the set uncut and measure the draw "
    "first."
)
_TUNING: Final = (
    "The length is still to be found by shooting. Order the set uncut and use the cut plan."
)
_TESTS: Final = "Cut only the test shafts now, and the others after these are shot."
_WANTED: Final = "The set is cut to the wanted length."
_COSTLY: Final = (
    "The set is cut to the wanted length. That takes room that growth or tuning may need, and a "
    "cut cannot be undone."
)
_RECOMMENDED: Final = (
    "The set is cut to the recommended length. To find the length by shooting first, give "
    "`test_shafts`."
)
_SHORTER: Final = (
    "Cut to the recommended length, the arrow would be too short. Order the set uncut."
)
_NOT_SHOT: Final = (
    "The fit check would not let the arrows be shot at that length: see the findings. Order the "
    "set uncut."
)
_STOCK: Final = "The stock already has this length. There is nothing to cut."
_TOO_SHORT: Final = "is shorter than the minimum safe length"
_TOO_LONG: Final = "is longer than the stock gives"


@dataclass(frozen=True, kw_only=True, slots=True)
class OrderSet:
    """One archer's set, or a set of a wanted length."""

    id: str = fields.text(100, "Name of the set in the answer.")
    shaft: str = fields.text(100, "Name of the shaft to order.", default="")
    archer: Archer | None = fields.part(Archer, "The archer.", default=None)
    bow: Bow | None = fields.part(Bow, "The bow. It is needed beside an archer.", default=None)
    arrow: Arrow | None = fields.part(
        Arrow, "The arrow's parts. Its length is ignored.", default=None
    )
    wanted_length: float | None = fields.length(
        0.30, 1.20, "Arrow length to cut to, if it is known.", default=None
    )
    shafts: int = fields.whole(1, 200, "Shafts in the set, test shafts included.")
    spares: int = fields.whole(0, 200, "Spare shafts beside the set.", default=0)
    test_shafts: int = fields.whole(
        0,
        24,
        "Shafts to shoot first, to find the length. The others wait uncut.",
        default=0,
    )
    stock_length: float = fields.length(
        0.30, 1.30, "Length of the shaft as it is delivered, without a nock."
    )
    local: Mapping[str, object] | None = fields.local("Inputs of local rules for this archer.")


@dataclass(frozen=True, kw_only=True, slots=True)
class Choice:
    """How one set is ordered.

    Parameters
    ----------
    length : float or None
        Arrow length of those that are cut; None where all stay uncut [m].
    cut : int
        How many are cut.
    projection : float
        Bottom of the nock slot to the shaft's rear end [m].
    reason : str
        Why, in a sentence.
    candidate : Candidate or None
        What the rules said of the arrow as ordered; None where no archer is named.
    """

    length: float | None
    cut: int
    projection: float
    reason: str
    candidate: Candidate | None


def choose_length(one: OrderSet, context: Context, increment: float | None) -> Choice:
    """Choose the length of a set; uncut if shooting must find it or a minimum is in doubt."""
    arrow = replace(one.arrow or Arrow(), length=None, mass=None, balance_point=None)
    projection = float(projection_of(arrow))
    stock = replace(arrow, length=one.stock_length + projection)
    wanted = None if one.wanted_length is None else float(round_up(one.wanted_length, increment))
    if wanted is not None and limits.longer(wanted, one.stock_length + projection):
        raise FittingError(Fault(path=("wanted_length",), detail=_TOO_LONG))
    if limits.shorter(one.stock_length, 2 * projection):
        raise FittingError(
            Fault(path=("arrow", "nock", "projection"), detail=("is too long: it leaves no shaft"))
        )
    length, reason, candidate, whole = wanted, _WANTED, None, None
    if one.archer is not None:
        if one.bow is None:
            raise FittingError(Fault(path=("bow",), detail="This is needed beside the archer."))
        candidates = Candidates(
            archer=one.archer, bow=one.bow, arrow=stock, end="front", context=context
        )
        length, reason, candidate = _of_archer(candidates, wanted, increment)
        whole = candidates.at(candidates.present)
    count = one.shafts + one.spares
    if length is not None and not limits.shorter(length, one.stock_length + projection):
        length, reason = None, _STOCK
    elif length is not None and one.test_shafts:
        if wanted is None:
            # What is shot first is the shaft as it comes.
            length, reason, candidate = None, _TUNING, whole
        else:
            count, reason = min(one.test_shafts, count), f"{reason} {_TESTS}"
    return Choice(
        length=length,
        cut=0 if length is None else count,
        projection=projection,
        reason=reason,
        candidate=candidate,
    )


def _of_archer(
    candidates: Candidates, wanted: float | None, increment: float | None
) -> tuple[float | None, str, Candidate]:
    found = survey(candidates, wanted, increment)
    here, there = found.here, found.there
    if not (here.outcome.determinate and there.outcome.determinate):
        return None, _DOUBT, there if here.outcome.determinate else here
    if limits.shorter(candidates.present, here.minimum):
        raise FittingError(Fault(path=("stock_length",), detail=_TOO_SHORT))
    if here.outcome.facts.estimated:
        return None, _ESTIMATE, here
    length, reason = wanted, _COSTLY if found.is_costly(wanted) else _WANTED
    if wanted is None:
        advice, reason = advise(there.outcome, found.window, candidates.arrow)
        if advice == "cut_to":
            length, reason = found.window.figure, _RECOMMENDED
    if length is None:
        return None, reason, there
    candidate = candidates.at(length)
    if not candidate.outcome.determinate:
        return None, _DOUBT, candidate
    if not candidate.long_enough:
        if wanted is None:
            return None, _SHORTER, candidate
        raise FittingError(Fault(path=("wanted_length",), detail=_TOO_SHORT))
    if not candidate.may_be_shot:
        return None, _NOT_SHOT, candidate
    return length, reason, candidate
