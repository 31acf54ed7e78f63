"""Why an archer is left without a set, and what would equip that archer."""

from __future__ import annotations

import dataclasses
from typing import Annotated, Final, Literal, NotRequired, TypedDict

import numpy as np

from drawmark.answers.club.needed_length import Need, find_need
from drawmark.answers.club.rack_session import RackSession
from drawmark.answers.common.answer_types import ArcherId, Force, Length, SetId
from drawmark.answers.common.common_response import UnevaluatedRules, unevaluated_response
from drawmark.answers.common.findings import Finding, deciding_of, deciding_response
from drawmark.fitting.columns import Mask
from drawmark.fitting.fields import quantity_of
from drawmark.fitting.limits import TOLERANCE
from drawmark.fitting.model import Bow
from drawmark.rules.model import PRECEDENCE, Measure, Verdict
from drawmark.rules.outcome import Outcome

Reason = Literal[
    "sets_taken",
    "too_few_arrows",
    "not_as_asked",
    "too_short",
    "in_doubt",
    "stopped",
    "not_confirmed",
]
_REMEDIES: Final[dict[Reason, str]] = {
    "sets_taken": (
        "Find another set of at least the needed length. Other archers shoot all the safe sets."
    ),
    "too_few_arrows": "Add arrows to this set, or give each archer fewer.",
    "not_as_asked": (
        "Find a set of at least the needed length that states what this bow needs: nock size, "
        "vanes or material."
    ),
    "too_short": "Find a set of at least the needed length.",
    "in_doubt": "Supply or correct what the findings and the unevaluated rules name.",
    "stopped": "Change what the findings name: take a lighter bow, or a stiffer or heavier set.",
    "not_confirmed": (
        "A local rule judges this pair differently alone and among many. Ask its author to "
        "correct it."
    ),
}
_LIGHTEST_BOW: Final = quantity_of(Bow, "draw_weight").low


class NeededLength(TypedDict):
    """The length that an archer needs; the name says whether it may be longer."""

    would_need: NotRequired[Annotated[Length, "Arrow length that this archer needs."]]
    would_need_at_least: NotRequired[
        Annotated[
            Length,
            "Given in place of `would_need` if a floor may be missing. The archer may need more.",
        ]
    ]


class LighterBow(TypedDict):
    """A draw weight that would do."""

    lighter_bow: NotRequired[
        Annotated[Force, "Draw weight with which the nearest set would be safe."]
    ]


class SetWithoutShortest(TypedDict):
    """What setting the shortest arrow of a set aside would do."""

    set: SetId
    shortest_length: Annotated[Length, "Shortest arrow of the rest."]
    verdict: Annotated[Verdict, "Verdict of the fit check with it."]


class ShortestSetAside(TypedDict):
    """A set that would do without its shortest arrow."""

    without_shortest: NotRequired[
        Annotated[
            SetWithoutShortest,
            "A set that this archer may shoot if its shortest arrow is set aside.",
        ]
    ]


class Unequipped(NeededLength, LighterBow, ShortestSetAside):
    """An archer without a set, why, and what would help."""

    archer: ArcherId
    reason: Annotated[Reason, "Why."]
    remedy: Annotated[str, "What would equip this archer."]
    nearest_set: Annotated[str, "`id` of the set that comes nearest."]
    safe_sets: Annotated[
        list[str], "`id` of each set that this archer may shoot, even if taken or too small."
    ]
    findings: Annotated[list[Finding], "Findings that decide about the nearest set."]
    unevaluated: UnevaluatedRules


def explain(session: RackSession, archer: int, refused: int | None = None) -> Unequipped:
    """Say why an archer has no set, which set comes nearest, and what would equip the archer."""
    reason, place = _find_nearest(session, archer)
    if refused is not None:
        reason, place = "not_confirmed", refused
    outcome = session.check(archer, place)
    arrow, known = session.arrows[place], session.arrow_facts[place]
    need = find_need(session.shooters[archer], arrow, session.context, known)
    weight = _find_lighter_bow(session, archer, place, outcome) if reason == "stopped" else None
    aside = _set_aside_response(session, archer) if reason == "too_short" else ShortestSetAside()
    lighter = LighterBow()
    if weight is not None:
        # Rounded down: a heavier bow was not checked.
        lighter["lighter_bow"] = Measure(weight, "force", down=True)
    return {
        "archer": session.archers[archer].id,
        "reason": reason,
        "remedy": _REMEDIES[reason],
        **_needed_length_response(need),
        "nearest_set": session.sets[place].id,
        "safe_sets": [session.sets[at].id for at in np.flatnonzero(session.pairs.safe[archer])],
        "findings": deciding_response(outcome),
        "unevaluated": unevaluated_response(outcome.unevaluated),
        **lighter,
        **aside,
    }


def _set_aside_response(session: RackSession, archer: int) -> ShortestSetAside:
    """Look at the set that would be the longest without its shortest arrow."""
    longest: tuple[float, int] | None = None
    for place, one in enumerate(session.sets):
        given = one.next_shortest
        if given is None or one.count <= session.each or not session.suits[archer, place]:
            continue
        if longest is None or given > longest[0]:
            longest = given, place
    if longest is None:
        return {}
    length, place = longest
    outcome = session.check_without_shortest(archer, place)
    if not outcome.is_safe:
        return {}
    return {
        "without_shortest": {
            "set": session.sets[place].id,
            "shortest_length": Measure(length, down=True),
            "verdict": outcome.verdict,
        }
    }


def _needed_length_response(need: Need) -> NeededLength:
    length = Measure(need.length, up=True)
    return {"would_need": length} if need.determinate else {"would_need_at_least": length}


def _find_nearest(session: RackSession, archer: int) -> tuple[Reason, int]:
    pairs, suits = session.pairs, session.suits[archer]
    severity, margin = pairs.severity[archer], pairs.margin[archer]
    safe, long_enough = pairs.safe[archer], margin >= -TOLERANCE
    serving = safe & suits & (session.capacity > 0)
    if serving.any():
        return "sets_taken", _pick(serving, margin)
    if (safe & suits).any():
        return "too_few_arrows", _pick(safe & suits, margin)
    if safe.any():
        return "not_as_asked", _pick(safe, margin)
    if not (long_enough & suits).any():
        wanted = suits if suits.any() else np.ones_like(suits)
        return "too_short", _pick(wanted, margin)
    best = long_enough & suits
    doubtful = best & (severity == PRECEDENCE["indeterminate"])
    if doubtful.any():
        return "in_doubt", _pick(doubtful, margin)
    load = np.nan_to_num(pairs.launch_load[archer], nan=np.inf)
    return "stopped", _pick(best, -load if np.isfinite(load[best]).any() else margin)


def _pick(among: Mask, figure: np.typing.NDArray[np.float64]) -> int:
    return int(np.where(among, figure, -np.inf).argmax()) if among.any() else 0


def _find_lighter_bow(
    session: RackSession, archer: int, place: int, outcome: Outcome
) -> float | None:
    """Find a draw weight at which nothing stops the pair, and check it."""
    weight = outcome.facts.draw_weight
    if weight is None:
        return None
    wanted = float(weight)
    for placed in deciding_of(outcome):
        measured, limit = placed.said.measured, placed.said.limit
        if measured is None or limit is None:
            return None
        if limit.kind == "force":
            wanted = min(wanted, float(limit.value))
        elif limit.kind == "number":
            wanted = min(wanted, float(weight * limit.value / measured.value))
        elif limit.kind == "mass":
            wanted = min(wanted, float(weight * measured.value / limit.value))
        else:
            return None
    if not _LIGHTEST_BOW <= wanted < weight:
        return None
    shooter = session.shooters[archer]
    bow = dataclasses.replace(shooter.bow, draw_weight=wanted, draw_weight_basis="own_draw")
    again = session.check_shooter(dataclasses.replace(shooter, bow=bow), place)
    return wanted if again.is_safe else None
