"""How far a given arrow may be drawn: the figure for a rack's label."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import Convention, status_of
from drawmark.answers.common.archer_at_draw import trials_of
from drawmark.answers.common.common_response import Common, common_response
from drawmark.answers.common.context import Context
from drawmark.answers.common.draw_control import draw_control_response
from drawmark.answers.common.longest_draw_search import (
    LongestSafeDraw,
    beyond_response,
    find_longest_draw,
    longest_draw_response,
)
from drawmark.answers.common.minimum import Floor, floors_response
from drawmark.fitting import fields
from drawmark.fitting.draw.draw_length import offset_of
from drawmark.fitting.facts import verify_archer
from drawmark.fitting.model import Archer, Arrow, Bow

NEEDS = ("arrow.length",)


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """Arrow and bow, and how the draw is controlled and spread; no draw length."""

    arrow: Arrow = fields.part(Arrow, "The arrow, or the shortest of a set.")
    bow: Bow = fields.part(Bow, "The bow.")
    archer: Archer = fields.part(
        Archer,
        ("Control, spread and convention of the draw. A draw length is not used."),
        default=Archer(),
    )


class LongestDrawAnswer(LongestSafeDraw, Common):
    """How far the arrow may be drawn, and what limits it."""

    draw_length_convention: Convention
    limits: Annotated[
        list[Floor], "Shortest safe lengths by each rule at that draw, the largest first."
    ]


def answer(request: Request, context: Context) -> LongestDrawAnswer:
    """Give the longest safe draw in the convention asked for, and what limits it."""
    archer, bow = request.archer, request.bow
    verify_archer(archer, bow)
    convention = archer.draw_length_convention or "standard"
    offset = float(offset_of(convention, bow))
    longest = find_longest_draw(trials_of(archer, bow, request.arrow, context))
    outcome = longest.outcome
    return {
        "status": status_of(longest.determinate),
        "draw_length_convention": convention,
        "limits": floors_response(outcome, bow, request.arrow),
        "draw_control": draw_control_response(outcome.facts),
        **longest_draw_response(longest, offset),
        **beyond_response(longest),
        **common_response(longest.beyond or outcome, context, (*cautions.LENGTH, cautions.LONGEST)),
    }
