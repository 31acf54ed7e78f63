"""Where the clicker's blade goes after a cut, with another point or at a new draw."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Annotated, Final, Literal, NotRequired, TypedDict

from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import Length, OverallVerdict
from drawmark.answers.common.archer_at_draw import drawing, drawn_further
from drawmark.answers.common.common_response import Common, common_response
from drawmark.answers.common.context import Context
from drawmark.answers.common.findings import Finding, deciding_response
from drawmark.answers.common.measured_mass import carry_over
from drawmark.answers.common.minimum import (
    Minimum,
    NearestBlade,
    blade_response,
    minimum_response,
)
from drawmark.fitting import fields, limits
from drawmark.fitting.draw.control import exposed_of, tip_reaches
from drawmark.fitting.draw.draw_length import offset_of
from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.point_mass import with_point_mass
from drawmark.fitting.model import DRAW, Archer, Arrow, Bow, Fitting
from drawmark.rules.evaluate import evaluate
from drawmark.rules.model import Measure

NEEDS = (DRAW, "arrow.length", "arrow.point.exposed_length")
Hits = Literal["higher", "lower", "either", "same"]
_SIGHT: Final[dict[Hits, str]] = {
    "higher": "Sight marks change: the arrow leaves faster, so expect it to land higher. Start "
    "close to the target and make new marks.",
    "lower": "Sight marks change: the arrow leaves more slowly, so expect it to land lower. Start "
    "close to the target and make new marks.",
    "either": "Sight marks change, and the changes work against each other. Start close to the "
    "target and make new marks.",
    "same": "Nothing that is stated changes the sight marks.",
}
_OUT_OF_RANGE: Final = (
    "The blade cannot be set where the tip then is. Extend the clicker, or leave the change. Do "
    "not cut an arrow to reach it."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class ClickerChanges:
    """What is changed."""

    length: float | None = fields.length(0.30, 1.20, "Arrow length after a cut.", default=None)
    point_mass: float | None = fields.mass(0.0, 0.04, "Mass of another point.", default=None)
    exposed_length: float | None = fields.length(
        0.0, 0.15, "How far another point stands out of the shaft.", default=None
    )
    draw_length: float | None = fields.length(
        0.30, 1.10, "New draw, in the archer's convention.", default=None
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """Archer, bow and arrow as they are, and what is changed."""

    archer: Archer = fields.part(Archer, "The archer.")
    bow: Bow = fields.part(Bow, "The bow.")
    arrow: Arrow = fields.part(Arrow, "The arrow as it is.")
    changes: ClickerChanges = fields.part(ClickerChanges, "What is changed.")
    blade_position: float | None = fields.length(
        -0.15,
        0.35,
        "Where the blade is now, from the pivot point of the grip toward the target. If left out, "
        "it is taken to stand at the arrow's tip.",
        default=None,
    )


class Sight(TypedDict):
    """What becomes of the sight marks."""

    arrow_lands: Annotated[
        Hits,
        "Where to expect the arrow at the same mark: a lighter arrow or a longer draw lands it "
        "higher. Common practice, no source. `either` if the changes work against each other.",
    ]
    advice: Annotated[str, "What to do."]


class BladeMove(TypedDict):
    """How far the blade moves, and whether it can."""

    blade_before: Annotated[Length, "Where the blade is, from the pivot point of the grip."]
    blade_after: Annotated[Length, "Where it belongs after the change."]
    move: Annotated[
        Length, "How far the blade moves: positive toward the target, negative toward the archer."
    ]
    within_range: NotRequired[
        Annotated[bool, "Whether the blade can be set there. Given if `bow.clicker_range` is."]
    ]
    reason: NotRequired[Annotated[str, "What to do where it cannot."]]
    draw_if_not_moved: Annotated[
        Length,
        "Draw at which the changed arrow would leave the blade if it stayed where it is, in the "
        "archer's convention.",
    ]


class ClickerAnswer(BladeMove, Minimum, NearestBlade, Common):
    """How far the blade moves, whether it can, and what the change means for safety."""

    sight: Annotated[Sight, "What becomes of the sight marks: a direction, never a figure."]
    verdict: Annotated[OverallVerdict, "Verdict of the fit check after the change."]
    findings: Annotated[list[Finding], "Findings that decide the verdict."]


def answer(request: Request, context: Context) -> ClickerAnswer:
    """Give the blade's place before and after, and the fit check of what is then shot."""
    archer, bow, arrow = request.archer, request.bow, request.arrow
    before = facts_of(Fitting(archer=archer, bow=bow, arrow=arrow))
    _require_place(before.estimated, before.draw_slack > 0)
    offset = float(offset_of(archer.draw_length_convention or "standard", bow))
    draw = float(before.draw)
    stands = request.blade_position
    if stands is None:
        stands = _tip_of(arrow) - draw
    changed, draws = _changed(arrow, request.changes), archer
    if request.changes.draw_length is not None:
        draw = request.changes.draw_length - offset
        draws = drawing(archer, bow, draw)
        measured = float(before.draw) - float(before.growth_since_measured)
        bow = drawn_further(bow, draw - measured)
    fitting = Fitting(archer=draws, bow=bow, arrow=changed)
    outcome = evaluate(fitting, context.ruleset, context.local)
    place = _tip_of(changed) - draw
    moved: BladeMove = {
        "blade_before": Measure(stands),
        "blade_after": Measure(place),
        "move": Measure(place - stands),
        "draw_if_not_moved": Measure(_tip_of(changed) - stands + offset),
    }
    if bow.clicker_range is not None:
        moved["within_range"] = bool(tip_reaches(bow, changed, draw))
        if not moved["within_range"]:
            moved["reason"] = _OUT_OF_RANGE
    return {
        **moved,
        "sight": _sight_of(request, draw - float(before.draw)),
        "verdict": outcome.verdict,
        "findings": deciding_response(outcome),
        **minimum_response(outcome, bow, changed),
        **blade_response(outcome, changed),
        **common_response(outcome, context, (*cautions.FIT, cautions.CUTTING)),
    }


def _require_place(estimated: bool, unknown: bool) -> None:
    """Refuse a draw that does not tell where the tip is."""
    if estimated:
        detail = "This is needed: from an arm span nobody can tell where the blade belongs."
        raise FittingError(Fault(path=("archer", "draw_length"), detail=detail))
    if unknown:
        detail = "This is needed: the blade's place is measured from the pivot point."
        raise FittingError(Fault(path=("bow", "back_position"), detail=detail))


def _tip_of(arrow: Arrow) -> float:
    exposed = exposed_of(arrow)
    assert arrow.length is not None
    assert exposed is not None
    return float(arrow.length) + float(exposed)


def _changed(arrow: Arrow, changes: ClickerChanges) -> Arrow:
    changed = arrow
    if changes.length is not None:
        assert arrow.length is not None
        if limits.longer(changes.length, arrow.length):
            detail = "This is longer than the arrow. Nothing can be added to it."
            raise FittingError(Fault(path=("changes", "length"), detail=detail))
        changed = carry_over(arrow, cut(arrow, changes.length))
    if changes.point_mass is not None:
        changed = carry_over(changed, with_point_mass(changed, changes.point_mass))
    if changes.exposed_length is not None:
        assert changed.point is not None
        point = dataclasses.replace(changed.point, exposed_length=changes.exposed_length)
        changed = dataclasses.replace(changed, point=point)
    return changed


def _sight_of(request: Request, longer_draw: float) -> Sight:
    arrow, changes = request.arrow, request.changes
    heavier = []
    if changes.length is not None and arrow.length is not None:
        heavier.append(changes.length - float(arrow.length))
    if changes.point_mass is not None and arrow.point is not None:
        mass = arrow.point.mass
        if mass is None:
            return {"arrow_lands": "either", "advice": _SIGHT["either"]}
        heavier.append(changes.point_mass - float(mass))
    up = any(one < 0 for one in heavier) or limits.longer(longer_draw, 0.0)
    down = any(one > 0 for one in heavier) or limits.shorter(longer_draw, 0.0)
    lands: Hits = "either" if up and down else "higher" if up else "lower" if down else "same"
    return {"arrow_lands": lands, "advice": _SIGHT[lands]}
