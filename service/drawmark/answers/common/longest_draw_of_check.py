"""The longest safe draw of an arrow that was checked, at little more cost than the check."""

from __future__ import annotations

from typing import Final, NamedTuple

from drawmark.answers.common.archer_at_draw import Trials
from drawmark.answers.common.context import Context
from drawmark.answers.common.draw_search import DOUBT, search_by_length
from drawmark.answers.common.draws_between import Objection, object_below
from drawmark.answers.common.longest_draw_search import (
    RANGE,
    Longest,
    find_furthest,
    find_longest_draw,
    most_by_bow,
)
from drawmark.fitting import limits
from drawmark.fitting.draw.draw_length import Spread
from drawmark.fitting.model import Archer, Arrow, Bow
from drawmark.rules.model import CORE, PRECEDENCE
from drawmark.rules.outcome import Outcome
from drawmark.rules.plugin_queries import LocalAnswer, ask_local_rules

_LEAST_STEP: Final = 0.001


class DrawLimit(NamedTuple):
    """How far an arrow may be drawn: a draw to the pivot point [m], and what makes it doubtful."""

    draw: float | None
    determinate: bool
    objection: Objection | None = None


def longest_draw_of_check(
    outcome: Outcome, archer: Archer, bow: Bow, arrow: Arrow, context: Context
) -> DrawLimit:
    """Give the longest draw of an arrow that was checked, at little more cost than the check.

    Where the control does not hang on the draw, the core's floors grow with it one for one, so
    that only local rules have to be asked at other draws.
    """
    facts = outcome.facts
    spread = Spread(
        mean=facts.draw,
        deviation=facts.variation,
        count=facts.count,
        seen=None if archer.draws is None else facts.longest_draw,
        slack=facts.draw_slack,
    )
    trials = Trials(archer, bow, arrow, context, facts, spread)
    assert arrow.length is not None
    if facts.claimed == "clicker" or facts.estimated:
        # Where the clicker ends the archer's own draw, that draw lies beyond any that are unsafe.
        least = outcome.minimum_usable + facts.sleeve
        beyond = facts.control == "clicker" and not limits.shorter(arrow.length, least)
        return _limit_of((find_furthest if beyond else find_longest_draw)(trials))
    draw, determinate, severity = _by_length(outcome, trials)
    if draw is not None and (not outcome.is_safe or bow.draw_weight_basis == "at_28"):
        severity = max(severity, PRECEDENCE[trials.check(draw).verdict])
    if draw is not None and severity >= DOUBT:
        return _limit_of(find_longest_draw(trials))
    if draw is None or not (determinate and outcome.determinate):
        return DrawLimit(draw, determinate)
    objection = object_below(trials, RANGE.low, draw)
    return DrawLimit(draw, objection is None, objection)


def _limit_of(longest: Longest) -> DrawLimit:
    return DrawLimit(longest.draw, longest.determinate, longest.objection)


def _by_length(outcome: Outcome, trials: Trials) -> tuple[float | None, bool, int]:
    """Give the longest draw for which an arrow is long enough, and what local rules find there.

    What the core has nothing against at the archer's own draw hangs on nothing but the length.
    """
    facts, arrow, bow, context = outcome.facts, trials.arrow, trials.bow, trials.context
    assert arrow.length is not None
    sleeve, length = float(facts.sleeve), float(arrow.length)
    core = local = 0.0
    for placed in outcome.floors:
        if placed.plugin == CORE:
            core = max(core, float(placed.said.length))
        else:
            local = max(local, float(placed.said.length))
    draw = min(float(facts.draw + arrow.length) - (core + sleeve), most_by_bow(bow, facts))
    if draw < RANGE.low:
        return None, True, 0
    if not context.ruleset.local:
        return draw, True, 0

    def ask(draw: float) -> tuple[float, LocalAnswer]:
        trial = trials.at(draw)
        at = trials.facts_of(trial, draw)
        said = ask_local_rules(trial, at, context.ruleset, context.local)
        return said.floor + sleeve - length, said

    rise = length - (local + sleeve)
    guess = float(facts.draw) + rise
    if abs(rise) > _LEAST_STEP and RANGE.low <= guess < draw:
        # Nearly all floors grow with the draw, one for one: then this is where they meet it.
        lacking, said = ask(guess)
        if abs(lacking) < limits.TOLERANCE:
            return guess, said.determinate, said.severity
    found, said = search_by_length(ask, draw, RANGE.low)
    return found, said.determinate, said.severity
