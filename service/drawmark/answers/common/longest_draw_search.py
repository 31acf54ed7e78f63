"""How far an arrow may be drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final, NotRequired, TypedDict

import numpy as np

from drawmark.answers.common.answer_types import Length, Status
from drawmark.answers.common.archer_at_draw import Trials, is_estimate
from drawmark.answers.common.draw_control import DrawEnd
from drawmark.answers.common.draw_search import Told, search_by_length, search_by_verdict
from drawmark.answers.common.draws_between import Objection, object_below
from drawmark.answers.common.findings import Finding, deciding_response
from drawmark.answers.common.length_rules import claiming
from drawmark.fitting import limits
from drawmark.fitting.columns import Column
from drawmark.fitting.facts import Facts
from drawmark.fitting.fields import quantity_of
from drawmark.fitting.model import Archer, Bow
from drawmark.rules.model import PRECEDENCE, Measure
from drawmark.rules.outcome import Outcome

NO_DRAW: Final = "No draw is safe with this arrow under these rules."


RANGE: Final = quantity_of(Archer, "draw_length")


@dataclass(frozen=True, slots=True)
class Longest:
    """How far an arrow may be drawn.

    Parameters
    ----------
    draw : float or None
        The longest safe draw to the pivot point, None where no draw is safe [m].
    outcome : Outcome
        What the rules about lengths said at it.
    doubtful : bool
        Rules leave the arrow in doubt, however far it is drawn.
    beyond : Outcome or None
        What all rules said of a longer draw, where the arrow's length would allow it.
    objection : Objection or None
        What a local rule has against a shorter draw.
    """

    draw: float | None
    outcome: Outcome
    doubtful: bool = False
    beyond: Outcome | None = None
    objection: Objection | None = None

    @property
    def determinate(self) -> bool:
        """Tell whether every rule that may make it less was evaluated, and allows what is below."""
        return self.outcome.determinate and not self.doubtful and self.objection is None


def find_longest_draw(trials: Trials) -> Longest:
    """Search for the longest draw up to which every rule and the bow's maker allow the arrow.

    A clicker ends only draws at which the tip reaches it; some that are shorter may be unsafe.
    """
    return _hold_below(_find_longest_draw(trials), trials)


def _find_longest_draw(trials: Trials) -> Longest:
    found, arrow, bow = _find_furthest(trials), trials.arrow, trials.bow
    if found.draw is None or found.outcome.facts.control != "clicker":
        return _shorten_until_shot(found, trials)
    assert arrow.length is not None
    assert arrow.point is not None
    assert bow.clicker_range is not None
    exposure = float(arrow.point.exposed_length or 0.0)
    beyond = float(bow.clicker_range.far) + limits.BLADE_WIDTH + 2 * limits.TOLERANCE
    below = float(arrow.length) + exposure - beyond
    if below < RANGE.low or is_long_enough(trials, below):
        shortened = _shorten_until_shot(found, trials)
        if shortened.beyond is None or shortened.draw is None or shortened.draw <= below:
            return shortened
    return _shorten_until_shot(_find_long_enough(trials, below), trials)


def find_furthest(trials: Trials) -> Longest:
    """Search for the longest draw at which they allow it; otherwise as `find_longest_draw`."""
    found = _find_furthest(trials)
    return _hold_below(_shorten_until_shot(found, trials), trials)


def _hold_below(found: Longest, trials: Trials) -> Longest:
    """Ask local rules about shorter draws as well, where the figure is not in doubt yet."""
    if found.draw is None or not found.determinate:
        return found
    return replace(found, objection=object_below(trials, RANGE.low, found.draw))


def _find_furthest(trials: Trials) -> Longest:
    archer, bow, arrow = trials.archer, trials.bow, trials.arrow
    starts = []
    if arrow.length is not None:
        starts.append(float(arrow.length))
        point, blade = arrow.point, bow.clicker_range
        if archer.draw_control == "clicker" and blade is not None and point is not None:
            starts.append(float(arrow.length + (point.exposed_length or 0.0) - blade.near))
    distinct = dict.fromkeys(min(start, RANGE.high) for start in starts)
    found = [_find_long_enough(trials, start) for start in distinct]
    best = max(found, key=lambda one: -1.0 if one.draw is None else one.draw)
    if archer.draw_control == "none" or not is_estimate(archer):
        return best
    told = claiming(best.outcome, archer.draw_control, unshown=("archer.draw_length",))
    return Longest(best.draw, told)


def _shorten_until_shot(found: Longest, trials: Trials) -> Longest:
    """Shorten a draw for which the arrow is long enough to one at which it may be shot."""
    if found.draw is None:
        return found

    def ask(draw: float) -> tuple[int, Outcome]:
        outcome = trials.check(draw, again=draw != found.draw)
        return PRECEDENCE[outcome.verdict], outcome

    draw, doubtful, beyond = search_by_verdict(ask, found.draw, RANGE.low, _told_by)
    outcome = found.outcome
    if draw is not None and draw < found.draw:
        outcome = trials.check(draw, lengths_only=True, again=True)
    return Longest(draw, outcome, doubtful, beyond)


def _told_by(outcome: Outcome) -> Told:
    """Give the figures of findings, and the limits that decide a verdict, if all tell theirs."""
    measured, deciding = {}, {}
    untold = False
    for placed in outcome.findings:
        said, key = placed.said, (placed.plugin, placed.rule)
        if said.measured is not None and said.limit is not None:
            measured[key] = float(said.measured.value)
            if said.severity == outcome.verdict:
                deciding[key] = float(said.limit.value)
        elif said.severity == outcome.verdict:
            untold = True
    return Told(measured, {} if untold else deciding)


def is_long_enough(trials: Trials, draw: float) -> bool:
    """Tell whether an arrow is surely long enough for a mean draw to the pivot point [m]."""
    assert trials.arrow.length is not None
    outcome = trials.check(draw, lengths_only=True)
    least = float(outcome.minimum_usable + outcome.facts.sleeve)
    return outcome.determinate and not limits.shorter(trials.arrow.length, least)


def find_too_short(trials: Trials, draws: Column) -> int | None:
    """Give the place of the first of some draws for which an arrow may be too short."""
    assert trials.arrow.length is not None
    first = None
    for part, outcome in trials.check_many(draws, lengths_only=True):
        least = outcome.minimum_usable + outcome.facts.sleeve
        short = ~outcome.determinate | limits.shorter(trials.arrow.length, least)
        if short.any():
            place = int(np.searchsorted(draws, part[short.argmax()]))
            first = place if first is None else min(first, place)
    return first


def most_by_bow(bow: Bow, facts: Facts) -> float:
    """Give the longest mean draw that, with its spread and growth, stays within the bow's."""
    if bow.maximum_draw is None:
        return RANGE.high
    ahead = facts.spread_allowance + facts.growth + facts.draw_slack
    return min(RANGE.high, float(bow.maximum_draw - limits.STANDARD_OFFSET - ahead))


def _find_long_enough(trials: Trials, draw: float) -> Longest:
    assert trials.arrow.length is not None
    length = float(trials.arrow.length)

    def ask(at: float) -> tuple[float, Outcome]:
        outcome = trials.check(at, lengths_only=True, again=at != draw)
        least = float(outcome.minimum_usable + outcome.facts.sleeve)
        return max(least - length, at - most_by_bow(trials.bow, outcome.facts)), outcome

    return Longest(*search_by_length(ask, draw, RANGE.low))


LongestDrawAtMost = Annotated[
    Length,
    "Given in place of `longest_safe_draw` if that may be shorter: a floor may be missing, "
    "every draw is in doubt, or a local rule is against a shorter draw.",
]


class LongestDrawFigure(TypedDict):
    """How far an arrow may be drawn, or why no draw is safe."""

    longest_safe_draw: NotRequired[
        Annotated[
            Length,
            "Longest safe draw of this arrow, in `draw_length_convention`, rounded down.",
        ]
    ]
    longest_safe_draw_at_most: NotRequired[LongestDrawAtMost]
    reason: NotRequired[
        Annotated[str, "Why no draw is safe, or which rule is against a shorter draw."]
    ]


class FindingsBeyond(TypedDict):
    """What the rules found of a longer draw."""

    findings: NotRequired[
        Annotated[
            list[Finding],
            "What stops a longer draw that the arrow's length alone would allow, or leaves "
            "it in doubt.",
        ]
    ]


class LongestSafeDraw(LongestDrawFigure, FindingsBeyond):
    """How far an arrow may be drawn, and what ends the draw."""

    status: Status
    draw_control: DrawEnd


def longest_draw_response(longest: Longest, offset: float) -> LongestDrawFigure:
    """Give the longest safe draw in a convention's offset [m], or say that there is none."""
    if longest.draw is None:
        return {"reason": NO_DRAW}
    figure = Measure(longest.draw + offset, down=True)
    if longest.determinate:
        return {"longest_safe_draw": figure}
    if longest.objection is None:
        return {"longest_safe_draw_at_most": figure}
    return {"longest_safe_draw_at_most": figure, "reason": against_shorter(longest.objection)}


def against_shorter(objection: Objection) -> str:
    """Say why a longest draw is in doubt though the arrow may be shot at it."""
    return f"{objection}. That draw is shorter, so the figure does not hold there."


def beyond_response(longest: Longest) -> FindingsBeyond:
    """Give what stops a longer draw that the length alone would allow."""
    if longest.beyond is None:
        return {}
    return {"findings": deciding_response(longest.beyond)}
