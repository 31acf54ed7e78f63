"""Why an archer is left without a set, and what would equip that archer."""

from __future__ import annotations

import dataclasses
from typing import Final, Literal, get_args

import numpy as np

from drawmark.answers.club.needed_length import find_need, need_response
from drawmark.answers.club.rack_session import RackSession
from drawmark.answers.common.context import Answer
from drawmark.answers.common.findings import deciding_of, deciding_response
from drawmark.fitting.columns import Mask
from drawmark.fitting.fields import quantity_of
from drawmark.fitting.limits import TOLERANCE
from drawmark.fitting.model import Bow
from drawmark.rules.model import PRECEDENCE, Measure
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

REASONS: Final[tuple[Reason, ...]] = get_args(Reason)
_REMEDIES: Final[dict[Reason, str]] = {
    "sets_taken": "another set, at least so long: all that are safe serve others",
    "too_few_arrows": "more arrows of this set, or fewer for each archer",
    "not_as_asked": "a set that states what the bow asks of it, at least so long",
    "too_short": "a set at least so long",
    "in_doubt": "what the findings and the rules that were not evaluated name",
    "stopped": "what the findings name: a lighter bow, or a stiffer or heavier set",
    "not_confirmed": "a rule that says the same of many pairs as of one",
}
_LIGHTEST_BOW: Final = quantity_of(Bow, "draw_weight").low


def explain(session: RackSession, archer: int, refused: int | None = None) -> Answer:
    """Say why an archer has no set, which set comes nearest, and what would equip the archer.

    Parameters
    ----------
    session : RackSession
        Archers, sets and their pairs.
    archer : int
        Place of the archer.
    refused : int or None
        Place of a set that was chosen and that the single check then refused.

    Returns
    -------
    dict
        Reason, the nearest set with what decides there, and the length or the draw weight that
        would be needed, where that is known.
    """
    reason, place = _find_nearest(session, archer)
    if refused is not None:
        reason, place = "not_confirmed", refused
    outcome = session.check(archer, place)
    need = find_need(session.shooters[archer], session.arrows[place], session.context)
    said: Answer = {
        "archer": session.archers[archer].id,
        "reason": reason,
        "remedy": _REMEDIES[reason],
        **need_response(need, "would_need"),
        "nearest_set": session.sets[place].id,
        "safe_sets": [session.sets[at].id for at in np.flatnonzero(session.pairs.safe[archer])],
        "findings": deciding_response(outcome),
    }
    weight = _find_lighter_bow(session, archer, place, outcome) if reason == "stopped" else None
    if weight is not None:
        # Rounded down: a heavier bow was not checked.
        said["lighter_bow"] = Measure(weight, "force", down=True)
    return said


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
    """Find the draw weight at which what stops the pair would not; checked before it is said."""
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
