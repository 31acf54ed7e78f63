"""How far a given arrow may be drawn: the figure for a rack's label."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

from drawmark.answers import cautions
from drawmark.answers.context import Context
from drawmark.answers.parts import Answer, evaluate_lengths, say_common, say_control, say_floors
from drawmark.fitting import fields, limits
from drawmark.fitting.draw import offset_of
from drawmark.fitting.fields import specs_of
from drawmark.fitting.model import Archer, Arrow, Bow
from drawmark.rules.model import Measure
from drawmark.rules.outcome import Outcome

NEEDS = ("arrow.length",)
_ROUNDS = 24
_RANGE = specs_of(Archer)["draw_length"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Request:
    """Arrow and bow, and how the draw is controlled and spread; no draw length."""

    arrow: Arrow = fields.part(Arrow, "The arrow, or the shortest of a set.")
    bow: Bow = fields.part(Bow, "The bow.")
    archer: Archer = fields.part(
        Archer, "Control, spread and convention; a draw length is not used.", default=Archer()
    )


@dataclass(frozen=True, slots=True)
class Longest:
    """The longest safe draw to the pivot point [m], None where no draw is safe."""

    draw: float | None
    outcome: Outcome


def find_longest(
    archer: Archer, bow: Bow, arrow: Arrow, context: Context, start: float | None = None
) -> Longest:
    """Search for the longest draw at which every floor and the bow's maker are content.

    Parameters
    ----------
    archer : Archer
        Control and spread; of single draws only how they lie about their mean is used.
    bow, arrow : Bow, Arrow
        The arrow with its length [m].
    context : Context
        Rules in force.
    start : float or None
        A draw that is known to be no shorter than the longest: that of the core's floors [m].

    Returns
    -------
    Longest
        The draw and what the rules said at it.
    """
    free = dataclasses.replace(
        archer,
        draw_length=None,
        arm_span=None,
        draw_length_convention="to_pivot",
    )
    starts = [] if start is None else [start]
    if arrow.length is not None and start is None:
        starts.append(float(arrow.length))
        point, blade = arrow.point, bow.clicker_range
        if archer.draw_control == "clicker" and blade is not None and point is not None:
            starts.append(float(arrow.length + (point.exposed_length or 0.0) - blade.near))
    most = _RANGE.high
    if bow.maximum_draw is not None:
        most = min(most, float(bow.maximum_draw) - limits.STANDARD_OFFSET)
    found = [_settle(free, bow, arrow, context, min(start, most)) for start in starts]
    return max(found, key=lambda one: -1.0 if one.draw is None else one.draw)


def _settle(archer: Archer, bow: Bow, arrow: Arrow, context: Context, draw: float) -> Longest:
    assert arrow.length is not None
    outcome = None
    for _ in range(_ROUNDS):
        trial = _drawing(archer, draw)
        outcome = evaluate_lengths(trial, bow, arrow, context)
        least = float(outcome.minimum_usable + outcome.facts.sleeve)
        if not limits.shorter(arrow.length, least):
            return Longest(draw, outcome)
        draw -= least - float(arrow.length)
        if draw < _RANGE.low:
            break
    assert outcome is not None
    return Longest(None, outcome)


def _drawing(archer: Archer, draw: float) -> Archer:
    """Let an archer draw to a mean, with the spread that was measured."""
    if archer.draws is None:
        return dataclasses.replace(archer, draw_length=draw)
    shift = draw - math.fsum(archer.draws) / len(archer.draws)
    return dataclasses.replace(archer, draws=tuple([one + shift for one in archer.draws]))


def answer(request: Request, context: Context) -> Answer:
    """Give the longest safe draw in the convention asked for, and what limits it."""
    archer, bow = request.archer, request.bow
    convention = archer.draw_length_convention or "standard"
    offset = float(offset_of(convention, bow))
    longest = find_longest(archer, bow, request.arrow, context)
    outcome = longest.outcome
    result: Answer = {
        "status": "determinate" if outcome.determinate else "indeterminate",
        "draw_length_convention": convention,
        "limits": say_floors(outcome),
        "draw_control": say_control(outcome.facts),
    }
    if longest.draw is None:
        result["reason"] = "no draw is safe with this arrow under these rules"
    elif outcome.determinate:
        # Rounded down: a draw that is reported longer than it is would be unsafe.
        result["longest_safe_draw"] = Measure(longest.draw + offset, down=True)
    else:
        result["longest_safe_draw_at_most"] = Measure(longest.draw + offset, down=True)
    return {**result, **say_common(outcome, context, cautions.LENGTH)}
