"""How far a clicker's blade, or another draw-check aid, stays from the rest and the shaft's end.

An aid tells that the draw is complete when the point's tip comes to it. Where its place is not
stated it is the clicker's blade, at the place in its range that is nearest to the tip.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from drawmark import rules
from drawmark.fitting.columns import absolute, maximum, minimum
from drawmark.fitting.limits import shorter


@dataclass(frozen=True, kw_only=True, slots=True)
class Clearances:
    """What the club keeps free around the aid. The defaults are this plugin's own choice."""

    from_rest: float = rules.length(
        0.0,
        rules.mm(150),
        "Least distance of the aid ahead of the rest; less is a stop.",
        default=rules.mm(20),
    )
    from_shaft_end: float = rules.length(
        0.0,
        rules.mm(50),
        "Least distance between the aid and the shaft's end at full draw; less is a caution.",
        default=rules.mm(5),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Aid:
    """A draw-check aid."""

    position: float | None = rules.length(
        rules.mm(-150),
        rules.mm(350),
        "x of the aid's edge on the archer's side, from the grip's pivot point.",
        default=None,
    )


_AID = "local.position|bow.clicker_range"
_EXPOSED = "arrow.point.exposed_length"
_SUBJECT = f"archer.draw_control=clicker|{_AID}"


def check_nearest(case: rules.Case) -> Iterable[rules.Said]:
    """Set the length whose tip lies at the nearest place that the aid may have."""
    facts, clear = case.facts, case.settings.from_rest
    exposed = _exposed_of(case)
    yield rules.floor(
        facts.draw + facts.rest + clear - exposed,
        "A shorter arrow's tip meets the draw-check aid only where that is too near the rest.",
        terms=(
            rules.Term("draw to the pivot point", facts.draw),
            rules.Term("rest", facts.rest),
            rules.Term("clearance of the aid from the rest", clear),
            rules.Term("exposed length of the point", -exposed),
        ),
    )


def check_rest(case: rules.Case) -> Iterable[rules.Said]:
    """Hold the aid off the rest."""
    distance, clear = _place_of(case) - case.facts.rest, case.settings.from_rest
    yield rules.stop(
        "The draw-check aid stands too near the rest: the tip is all but off it at full draw.",
        when=shorter(distance, clear),
        measured=rules.Measure(distance),
        limit=rules.Measure(clear, up=True),
        fields=("bow.rest_position",),
    )


def check_shaft_end(case: rules.Case) -> Iterable[rules.Said]:
    """Hold the aid off the shaft's end, where an edge could catch on it."""
    assert case.arrow.length is not None
    shaft_end = case.arrow.length - case.facts.mean_draw
    distance, clear = absolute(_place_of(case) - shaft_end), case.settings.from_shaft_end
    yield rules.caution(
        "At full draw the shaft's end stands at the draw-check aid and may catch on it.",
        when=shorter(distance, clear),
        measured=rules.Measure(distance),
        limit=rules.Measure(clear, up=True),
        fields=("arrow.length",),
    )


def _place_of(case: rules.Case) -> rules.Real:
    """Give where the aid is: as stated, or where the blade can come nearest to the tip."""
    stated: rules.Real | None = case.inputs.position
    if stated is not None:
        return stated
    blade = case.bow.clicker_range
    assert blade is not None
    assert case.arrow.length is not None
    tip = case.arrow.length + _exposed_of(case) - case.facts.mean_draw
    return minimum(maximum(tip, blade.near), blade.far)


def _exposed_of(case: rules.Case) -> rules.Real:
    point = case.arrow.point
    assert point is not None
    assert point.exposed_length is not None
    return point.exposed_length


@rules.hookimpl
def drawmark_rules() -> list[rules.Rule]:
    """Give the plugin's rules."""
    return [
        rules.Rule(
            id="nearest-aid",
            title="The tip can meet the draw-check aid clear of the rest.",
            check=check_nearest,
            check_many=check_nearest,
            needs=(_AID, "bow.rest_position", _EXPOSED),
            concerns=_SUBJECT,
            gives=frozenset({"floor"}),
            settings=Clearances,
            inputs=Aid,
        ),
        rules.Rule(
            id="aid-from-rest",
            title="The draw-check aid stands clear of the rest.",
            check=check_rest,
            check_many=check_rest,
            needs=(
                _AID,
                "bow.rest_position",
                "local.position|arrow.length",
                f"local.position|{_EXPOSED}",
            ),
            concerns=_SUBJECT,
            gives=frozenset({"finding"}),
            settings=Clearances,
            inputs=Aid,
        ),
        rules.Rule(
            id="aid-from-shaft-end",
            title="The draw-check aid stands clear of the shaft's end at full draw.",
            check=check_shaft_end,
            check_many=check_shaft_end,
            needs=(_AID, "arrow.length", f"local.position|{_EXPOSED}"),
            concerns=_SUBJECT,
            gives=frozenset({"finding"}),
            settings=Clearances,
            inputs=Aid,
        ),
    ]
