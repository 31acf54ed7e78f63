"""How short is too short to be safe."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from drawmark.answers.common import cautions
from drawmark.answers.common.common_response import Common, common_response
from drawmark.answers.common.context import Context
from drawmark.answers.common.draw_control import DrawEnd, EstimatedDraw, draw_control_response
from drawmark.answers.common.length_rules import evaluate_lengths, evaluate_without_clicker
from drawmark.answers.common.minimum import (
    Derivation,
    Floor,
    Minimum,
    MinimumWithoutClicker,
    NearestBlade,
    blade_response,
    derivation_response,
    floors_response,
    minimum_response,
    reaches_no_safe_arrow,
    without_clicker_response,
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


class MinimumLengthAnswer(Minimum, MinimumWithoutClicker, NearestBlade, Common):
    """How short is too short to be safe, and why."""

    floors: Annotated[
        list[Floor],
        "Shortest safe lengths by each rule, the largest first. The largest is the minimum.",
    ]
    derivation: Derivation
    draw_control: DrawEnd
    estimated_draw: EstimatedDraw


def answer(request: Request, context: Context) -> MinimumLengthAnswer:
    """Give the minimum safe length and the floors behind it."""
    archer, bow, arrow = request.archer, request.bow, request.arrow
    held = outcome = evaluate_lengths(archer, bow, arrow, context)
    without = None
    if held.facts.control == "clicker":
        without = evaluate_without_clicker(archer, bow, arrow, context)
    uncut = arrow is None or arrow.length is None
    if without is not None and uncut and reaches_no_safe_arrow(held, bow, arrow):
        outcome = without
    return {
        **minimum_response(outcome, bow, arrow, request.saw_increment),
        **without_clicker_response(without),
        "floors": floors_response(outcome, bow, arrow),
        "derivation": derivation_response(outcome, bow, arrow),
        "draw_control": draw_control_response(outcome.facts),
        "estimated_draw": outcome.facts.estimated,
        **blade_response(held, arrow),
        **common_response(outcome, context, cautions.LENGTH),
    }
