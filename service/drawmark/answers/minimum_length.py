"""How short is too short to be safe."""

from __future__ import annotations

from dataclasses import dataclass

from drawmark.answers.common import cautions
from drawmark.answers.common.context import Answer, Context
from drawmark.answers.common.minimum import (
    reaches_no_safe_arrow,
    say_blade,
    say_derivation,
    say_floors,
    say_minimum,
    say_unheld,
)
from drawmark.answers.common.response_parts import (
    evaluate_lengths,
    evaluate_unheld,
    say_common,
    say_control,
)
from drawmark.fitting import fields
from drawmark.fitting.model import DRAW, Archer, Arrow, Bow

NEEDS = (DRAW,)


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """Archer, bow and, for a clicker or a sliding collar, the arrow's point."""

    archer: Archer = fields.part(Archer, "The archer.")
    bow: Bow = fields.part(Bow, "The bow.")
    arrow: Arrow | None = fields.part(Arrow, "The arrow, as far as it is known.", default=None)
    saw_increment: float | None = fields.increment("Lengths are rounded up to a multiple of this.")


def answer(request: Request, context: Context) -> Answer:
    """Give the minimum safe length and the floors behind it."""
    archer, bow, arrow = request.archer, request.bow, request.arrow
    held = outcome = evaluate_lengths(archer, bow, arrow, context)
    unheld = None
    if held.facts.control == "clicker":
        unheld = evaluate_unheld(archer, bow, arrow, context)
    uncut = arrow is None or arrow.length is None
    if unheld is not None and uncut and reaches_no_safe_arrow(held, bow, arrow):
        outcome = unheld
    return {
        **say_minimum(outcome, bow, arrow, request.saw_increment),
        **say_unheld(unheld),
        "floors": say_floors(outcome, bow, arrow),
        "derivation": say_derivation(outcome, bow, arrow),
        "draw_control": say_control(outcome.facts),
        "estimated_draw": outcome.facts.estimated,
        **say_blade(held, arrow),
        **say_common(outcome, context, cautions.LENGTH),
    }
