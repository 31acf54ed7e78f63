"""Where bare shafts land beside fletched arrows, and how certain that is.

Offsets are angles: offset over distance. Their noise follows from the width of a group and
the number of shafts in it. A changed setup starts afresh: earlier rounds say nothing about
the ideal length now.

References
----------
.. [1] side-of-miss
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from drawmark.fitting import fields, limits
from drawmark.fitting.cutting.group_spread import estimate_deviation

SIDES = ("left", "right")
MOST_SHAFTS = 60


@dataclass(frozen=True, kw_only=True, slots=True)
class Shots:
    """One round of shots: bare shafts beside fletched arrows, at one arrow length."""

    length: float = fields.length(0.30, 1.20, "Arrow length when these were shot.")
    offset: float | None = fields.length(
        -5.0,
        5.0,
        "How far the bare shafts land from the fletched arrows, positive on the weak side. With "
        "`side`, how far to that side. Leave it out where only the side is known.",
        default=None,
    )
    distance: float = fields.length(2.0, 100.0, "Distance to the target.")
    bare_count: int = fields.whole(1, MOST_SHAFTS, "Bare shafts shot in this round.")
    fletched_count: int = fields.whole(1, MOST_SHAFTS, "Fletched arrows shot in this round.")
    group_width: float | None = fields.length(
        0.0,
        5.0,
        "Width of the fletched group across the target, between the middles of its two outermost "
        "shafts.",
        default=None,
    )
    side: str | None = fields.choice(
        SIDES,
        "Side on which the bare shafts land, seen by the archer. It needs `string_hand` and "
        "`release` of the archer. Without an `offset` it tells weak or stiff, and not how much.",
        default=None,
    )
    setup: str = fields.text(
        80,
        "Label of the setup. Change it whenever you change point, nock, fletching, string, brace "
        "height, button, draw weight or rest.",
        default="",
    )
    point_mass: float | None = fields.mass(
        0.0,
        0.1,
        "Mass of the point in this round. Rounds of the present setup must have the arrow's point.",
        default=None,
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Evidence:
    """One round as the plan sees it.

    Parameters
    ----------
    length : float
        Arrow length [m].
    offset : float
        Offset over distance, positive on the weak side; with a sign, where that side begins [rad].
    deviation : float
        Standard deviation of that offset [rad].
    sign : int or None
        1 on the weak side, -1 on the stiff side, where no more than the side is known.
    by_side : bool
        The sign comes from a side and the string hand.
    """

    length: float
    offset: float
    deviation: float
    sign: int | None = None
    by_side: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """All rounds of the present setup, as evidence.

    Parameters
    ----------
    evidence : tuple of Evidence
        The rounds of the last setup, in order.
    setup : str
        Label of that setup.
    set_aside : int
        Rounds of earlier setups, not used for the ideal length.
    arrow_deviation : float
        Deviation of one arrow across the target, over distance [rad].
    widths : int
        Group widths behind that deviation; 0 where it is the project's default alone.
    distance : float
        Distance of the last round [m].
    shafts : int
        Bare and fletched shafts of the last round together.
    hand : str or None
        String hand by which sides were read.
    refusal : str or None
        Why the shots cannot be read, if they cannot.
    """

    evidence: tuple[Evidence, ...]
    setup: str
    set_aside: int
    arrow_deviation: float
    widths: int
    distance: float
    shafts: int
    hand: str | None = None
    refusal: str | None = None


def _evidence_of(shots: Shots, string_hand: str | None, arrow_deviation: float) -> Evidence:
    sign = 1 if shots.side in (None, string_hand) else -1
    noise = math.sqrt(1 / shots.bare_count + 1 / shots.fletched_count)
    return Evidence(
        length=shots.length,
        offset=0.0 if shots.offset is None else sign * shots.offset / shots.distance,
        deviation=arrow_deviation * noise,
        sign=sign if shots.offset is None else None,
        by_side=shots.side is not None,
    )


def _has_other_point(shots: Shots, point_mass: float | None) -> bool:
    if shots.point_mass is None or point_mass is None:
        return False
    return abs(shots.point_mass - point_mass) > limits.POINT_DISAGREEMENT


def _find_refusal(
    shots: Sequence[Shots], setup: str, release: str | None, point_mass: float | None
) -> str | None:
    present = [(place, each) for place, each in enumerate(shots) if each.setup == setup]
    sided = [each for _, each in present if each.side is not None]
    if sided and release != "fingers":
        return (
            "A side shows weak or stiff only with a finger release. Leave out `side` and measure "
            "the `offset`."
        )
    if any(each.offset is not None and each.offset < 0 for each in sided):
        return "An offset with a side must not be negative: it is the distance to that side."
    other = [f"`shots[{place}]`" for place, each in present if _has_other_point(each, point_mass)]
    if other:
        return (
            f"The arrow now has another point than in {', '.join(other)}, so those rounds say "
            "nothing about it. Give them a `setup` of their own, or correct `point_mass`."
        )
    return None


def read_shots(
    shots: Sequence[Shots],
    *,
    string_hand: str | None = None,
    release: str | None = None,
    point_mass: float | None = None,
) -> Reading:
    """Turn rounds of shots into evidence about the ideal length.

    Parameters
    ----------
    shots : sequence of Shots
        Rounds in the order they were shot; one at least.
    string_hand : str or None
        Hand that draws the string; needed where a round has a side.
    release : str or None
        How the string is let go; sides can be read for fingers only.
    point_mass : float or None
        Mass of the arrow's point now [kg].

    Returns
    -------
    Reading
        Evidence of the last setup; with a refusal where it cannot be read.

    Raises
    ------
    ValueError
        If there are no shots, a round has neither offset nor side, or a side stands without
        string hand and release.

    References
    ----------
    .. [1] side-of-miss
    """
    if not shots:
        raise ValueError("no shots to read")
    if any(each.offset is None and each.side is None for each in shots):
        raise ValueError("a round without offset and side tells nothing")
    if None in (string_hand, release) and any(each.side is not None for each in shots):
        raise ValueError("a side tells nothing without string hand and release")
    setup = shots[-1].setup
    present = [each for each in shots if each.setup == setup]
    widths = [
        (each.group_width / each.distance, each.fletched_count)
        for each in shots
        if each.group_width is not None and each.fletched_count >= 2
    ]
    arrow = estimate_deviation(widths)
    return Reading(
        evidence=tuple(_evidence_of(each, string_hand, arrow) for each in present),
        setup=setup,
        set_aside=len(shots) - len(present),
        arrow_deviation=arrow,
        widths=len(widths),
        distance=present[-1].distance,
        shafts=present[-1].bare_count + present[-1].fletched_count,
        hand=string_hand,
        refusal=_find_refusal(shots, setup, release, point_mass),
    )
