"""How far a given arrow may be drawn: the figure for a rack's label."""

from __future__ import annotations

from dataclasses import dataclass

from drawmark.answers import cautions
from drawmark.answers.context import Answer, Context
from drawmark.answers.descent import descend
from drawmark.answers.drawing import drawing, facts_at, is_estimate
from drawmark.answers.minimums import say_floors
from drawmark.answers.parts import (
    claiming,
    evaluate_lengths,
    say_common,
    say_control,
    say_longest,
)
from drawmark.fitting import fields, limits
from drawmark.fitting.draw import offset_of
from drawmark.fitting.facts import Facts, verify_archer
from drawmark.fitting.fields import specs_of
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.rules.binding import CORE
from drawmark.rules.localfloors import asks_local_floors, largest_local_floor
from drawmark.rules.outcome import Outcome

NEEDS = ("arrow.length",)
_LEAST_STEP = 0.001
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


def find_longest(archer: Archer, bow: Bow, arrow: Arrow, context: Context) -> Longest:
    """Search for the longest draw up to which every floor and the bow's maker are content.

    A clicker ends only draws at which the tip reaches it; some that are shorter may be unsafe.

    Parameters
    ----------
    archer : Archer
        Control and spread; of single draws only how they lie about their mean is used.
    bow, arrow : Bow, Arrow
        The arrow with its length [m].
    context : Context
        Rules in force.

    Returns
    -------
    Longest
        The draw and what the rules said at it.
    """
    found = find_furthest(archer, bow, arrow, context)
    if found.draw is None or found.outcome.facts.control != "clicker":
        return found
    assert arrow.length is not None
    assert arrow.point is not None
    assert bow.clicker_range is not None
    exposure = float(arrow.point.exposed_length or 0.0)
    beyond = float(bow.clicker_range.far) + limits.BLADE_WIDTH + 2 * limits.TOLERANCE
    below = float(arrow.length) + exposure - beyond
    if below < _RANGE.low or is_long_enough(archer, bow, arrow, context, below):
        return found
    return _settle(archer, bow, arrow, context, below)


def find_furthest(archer: Archer, bow: Bow, arrow: Arrow, context: Context) -> Longest:
    """Search for the longest draw at which they are content; all else as in `find_longest`."""
    starts = []
    if arrow.length is not None:
        starts.append(float(arrow.length))
        point, blade = arrow.point, bow.clicker_range
        if archer.draw_control == "clicker" and blade is not None and point is not None:
            starts.append(float(arrow.length + (point.exposed_length or 0.0) - blade.near))
    found = [_settle(archer, bow, arrow, context, min(start, _RANGE.high)) for start in starts]
    best = max(found, key=lambda one: -1.0 if one.draw is None else one.draw)
    if archer.draw_control == "none" or not is_estimate(archer):
        return best
    told = claiming(best.outcome, archer.draw_control, unshown=("archer.draw_length",))
    return Longest(best.draw, told)


def longest_beside(
    outcome: Outcome, archer: Archer, bow: Bow, arrow: Arrow, context: Context
) -> tuple[float | None, bool]:
    """Give the longest draw of an arrow that was checked, at little more cost than the check.

    Where the control does not hang on the draw, the core's floors grow with it one for one, so
    that only local rules have to be asked at other draws.

    Parameters
    ----------
    outcome : Outcome
        What the rules said at the archer's own draw.
    archer, bow, arrow : Archer, Bow, Arrow
        What they were asked about.
    context : Context
        Rules in force.

    Returns
    -------
    tuple
        The draw to the pivot point, None where no draw is safe [m]; whether every rule that may
        set a floor was evaluated at it.
    """
    facts = outcome.facts
    assert arrow.length is not None
    if facts.claimed == "clicker" or facts.count is not None or facts.estimated:
        # Where the clicker ends the archer's own draw, that draw lies beyond any that are unsafe.
        least = outcome.minimum_usable + facts.sleeve
        beyond = facts.control == "clicker" and not limits.shorter(arrow.length, least)
        longest = (find_furthest if beyond else find_longest)(archer, bow, arrow, context)
        return longest.draw, longest.outcome.determinate
    sleeve, length = float(facts.sleeve), float(arrow.length)
    core = local = 0.0
    for placed in outcome.floors:
        if placed.plugin == CORE:
            core = max(core, float(placed.said.length))
        else:
            local = max(local, float(placed.said.length))
    draw = min(float(facts.draw + arrow.length) - (core + sleeve), _most(bow, facts))
    asks = context.ruleset.local_floors and asks_local_floors(
        Fitting(archer=archer, bow=bow, arrow=arrow), facts, context.ruleset, context.local
    )
    if not local and not asks:
        return (None if draw < _RANGE.low else draw), True

    def ask(draw: float) -> tuple[float, bool]:
        trial = Fitting(archer=drawing(archer, draw), bow=bow, arrow=arrow)
        at = facts_at(draw, facts, trial)
        floor, determinate = largest_local_floor(trial, at, context.ruleset, context.local)
        return floor + sleeve - length, determinate

    rise = length - (local + sleeve)
    guess = float(facts.draw) + rise
    if abs(rise) > _LEAST_STEP and _RANGE.low <= guess < draw:
        # Nearly all floors grow with the draw, one for one: then this is where they meet it.
        lacking, determinate = ask(guess)
        if abs(lacking) < limits.TOLERANCE:
            return guess, determinate
    return (None, True) if draw < _RANGE.low else descend(ask, draw, _RANGE.low)


def is_long_enough(archer: Archer, bow: Bow, arrow: Arrow, context: Context, draw: float) -> bool:
    """Tell whether an arrow is surely long enough for a mean draw to the pivot point [m]."""
    assert arrow.length is not None
    outcome = evaluate_lengths(drawing(archer, draw), bow, arrow, context)
    least = float(outcome.minimum_usable + outcome.facts.sleeve)
    return outcome.determinate and not limits.shorter(arrow.length, least)


def _most(bow: Bow, facts: Facts) -> float:
    """Give the longest mean draw that, with its spread and growth, stays within the bow's."""
    if bow.maximum_draw is None:
        return _RANGE.high
    ahead = facts.draw - facts.mean_draw + facts.allowance + facts.growth
    return min(_RANGE.high, float(bow.maximum_draw - limits.STANDARD_OFFSET - ahead))


def _settle(archer: Archer, bow: Bow, arrow: Arrow, context: Context, draw: float) -> Longest:
    assert arrow.length is not None
    length = float(arrow.length)

    def ask(draw: float) -> tuple[float, Outcome]:
        outcome = evaluate_lengths(drawing(archer, draw), bow, arrow, context)
        least = float(outcome.minimum_usable + outcome.facts.sleeve)
        return max(least - length, draw - _most(bow, outcome.facts)), outcome

    return Longest(*descend(ask, draw, _RANGE.low))


def answer(request: Request, context: Context) -> Answer:
    """Give the longest safe draw in the convention asked for, and what limits it."""
    archer, bow = request.archer, request.bow
    verify_archer(archer, bow)
    convention = archer.draw_length_convention or "standard"
    offset = float(offset_of(convention, bow))
    longest = find_longest(archer, bow, request.arrow, context)
    outcome = longest.outcome
    result: Answer = {
        "status": "determinate" if outcome.determinate else "indeterminate",
        "draw_length_convention": convention,
        "limits": say_floors(outcome, bow, request.arrow),
        "draw_control": say_control(outcome.facts),
    }
    if longest.draw is None:
        result["reason"] = "no draw is safe with this arrow under these rules"
    else:
        result |= say_longest(longest.draw + offset, outcome.determinate)
    return {**result, **say_common(outcome, context, cautions.LENGTH)}
