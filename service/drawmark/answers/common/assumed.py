"""What was assumed of draw, bow and point, and which field would tell."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from drawmark.fitting.facts import Facts
from drawmark.rules.model import CORE
from drawmark.rules.outcome import NotChecked


def _left_out(what: str, field: str) -> tuple[NotChecked]:
    return (NotChecked(CORE, "minimum-length", what, (field,)),)


_SPREAD: Final = _left_out(
    "How much the draw varies from shot to shot. A usual spread was assumed.",
    "archer.draws|archer.draw_variation",
)
_GROWTH: Final = _left_out("Growth of the draw until the next check.", "archer.growth_allowance")
_PIVOT: Final = _left_out(
    "Rest and hand, which need the depth of the bow. A depth of 1 3/4 in was assumed.",
    "bow.back_position",
)
_BACK: Final = _left_out(
    "Whether the bow is deeper than 1 3/4 in, from the pivot point to its back.",
    "bow.back_position",
)
_SLEEVE: Final = _left_out(
    "Whether the point has a collar that slides back over the shaft.", "arrow.point.sleeve_length"
)
_REST: Final = _left_out(
    "Where the rest is. It was taken at the back of the bow.", "bow.rest_position"
)
_EXPERIENCE: Final = _left_out(
    "The archer's experience. An archer who is still learning was assumed.", "archer.experience"
)


ASSUMABLE: Final = (*_SPREAD, *_GROWTH, *_PIVOT, *_BACK, *_SLEEVE, *_REST, *_EXPERIENCE)


def assumed_of(facts: Facts) -> tuple[NotChecked, ...]:
    """List what was assumed of the draw, the bow and the point.

    What could move the minimum furthest comes first: the spread of a novice's draws and a
    season's growth by inches, the back of a deep bow by about an inch, a collar and a rest ahead
    of the back by less. Experience moves the advice alone.
    """
    return _assumed(
        facts.count is None,
        facts.growth_given,
        facts.draw_slack > 0,
        facts.back_given or facts.control != "none",
        facts.sleeve_given,
        facts.rest_given or facts.draw_slack > 0,
        facts.experience_given,
    )


@lru_cache(maxsize=128)
def _assumed(
    no_spread: bool,
    growth: bool,
    pivot: bool,
    back: bool,
    sleeve: bool,
    rest: bool,
    experience: bool,
) -> tuple[NotChecked, ...]:
    return (
        *(_SPREAD if no_spread else ()),
        *(() if growth else _GROWTH),
        *(_PIVOT if pivot else () if back else _BACK),
        *(() if sleeve else _SLEEVE),
        *(() if rest else _REST),
        *(() if experience else _EXPERIENCE),
    )
