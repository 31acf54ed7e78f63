"""Rules of the core about the draw: floors, its control, the bow's limit, the arm span."""

from __future__ import annotations

from collections.abc import Iterable

from drawmark.fitting import limits
from drawmark.fitting.columns import absolute, both, negate
from drawmark.fitting.draw.control import exposed_of, tip_beyond, tip_passes
from drawmark.fitting.draw.draw_length import estimate_from_arm_span, exceedance_per_thousand
from drawmark.fitting.floors import floors_of
from drawmark.fitting.window import clicker_window
from drawmark.rules.model import Case, Finding, Floor, Measure, Said

_REASONS = {
    "bow-back": "The arrow must reach past the back of the bow at every expected draw.",
    "rest-retention": "The shaft must stay on the rest at the longest expected draw.",
    "hand": "The shaft's end must never come behind the pivot point, where the hand is.",
}
_SOURCES = {
    "bow-back": "margin-one-inch",
    "rest-retention": "project-margin",
    "hand": "project-margin",
}


def minimum_length(case: Case) -> Iterable[Said]:
    """Set the core's floors."""
    for floor in floors_of(case.facts):
        yield Floor(
            id=floor.id,
            length=floor.length,
            reason=_REASONS[floor.id],
            terms=floor.terms,
            source=_SOURCES[floor.id],
        )


def shaft_behind_back(case: Case) -> Iterable[Said]:
    """Ask for a coach where the shaft's end comes behind the back of the bow."""
    if not case.archer.coach_checked and case.facts.usable_length is not None:
        draw = case.facts.draw + case.facts.allowance
        if case.facts.estimated:
            draw = draw + limits.ARM_SPAN_MARGIN
        end = case.facts.usable_length - draw
        yield Finding(
            severity="caution",
            message=(
                "At the longest expected draw the shaft ends behind the back of the bow, by the "
                "distance measured. Have a coach watch, or use a longer arrow."
            ),
            when=limits.shorter(end, case.facts.back),
            measured=Measure(case.facts.back - end),
            source="project-margin",
            fields=("archer.coach_checked",),
        )


def few_draws(case: Case) -> Iterable[Said]:
    """Doubt an arrow where few draws are known that vary widely, and nothing else ends them."""
    facts = case.facts
    if facts.variation is None or facts.count is None or facts.usable_length is None:
        return
    few = facts.count < limits.SPREAD_COUNT
    if few is False or facts.control != "none":
        return
    past = exceedance_per_thousand(
        facts.usable_length - facts.back, facts.mean_draw, facts.variation, facts.count
    )
    doubtful = limits.more(past, limits.FEW_DRAWS_DOUBT)
    for severity, when, limit in (
        ("indeterminate", doubtful, limits.FEW_DRAWS_DOUBT),
        (
            "caution",
            both(limits.more(past, limits.FEW_DRAWS_CAUTION), negate(doubtful)),
            limits.FEW_DRAWS_CAUTION,
        ),
    ):
        yield Finding(
            severity=severity,  # type: ignore[arg-type]
            message=(
                "The few known draws vary widely. The number measured is how many draws in a "
                "thousand may end past the back of the bow. Measure six or more."
            ),
            when=both(few, when),
            measured=Measure(past, "number"),
            limit=Measure(limit, "number"),
            source="project-margin",
            fields=("archer.draws",),
        )


def draw_control(case: Case) -> Iterable[Said]:
    """Name what a claimed control lacks."""
    if case.facts.unshown:
        yield Finding(
            severity="note",
            message="The claimed draw control is not shown, so the draw counts as uncontrolled. "
            f"Give or correct {', '.join(case.facts.unshown)}.",
            fields=case.facts.unshown,
        )


def clicker_reach(case: Case) -> Iterable[Said]:
    """Say where an arrow is too long or too short for the clicker."""
    exposed = exposed_of(case.arrow)
    if case.archer.draw_control != "clicker" or exposed is None or case.arrow.length is None:
        return
    shortest, longest = clicker_window(case.facts, case.bow, exposed)
    length = Measure(case.arrow.length)
    yield Finding(
        severity="caution",
        message="The arrow is too short for the clicker. Use a longer arrow, or move the clicker.",
        when=negate(tip_passes(case.bow, case.arrow, case.facts.mean_draw)),
        measured=length,
        limit=Measure(shortest, up=True),
        fields=("bow.clicker_range",),
    )
    yield Finding(
        severity="caution",
        message="The arrow is too long for the clicker. Move or extend the clicker before you cut.",
        when=tip_beyond(case.bow, case.arrow, case.facts.mean_draw),
        measured=length,
        limit=Measure(longest),
        fields=("bow.clicker_range",),
    )


def clicker_in_barebow(case: Case) -> Iterable[Said]:
    """Note that barebow allows no clicker."""
    if case.bow.kind == "barebow" and case.archer.draw_control == "clicker":
        yield Finding(
            severity="note",
            message=(
                "Barebow competition allows no draw-check aid. Take the clicker off to compete."
            ),
            source="wa-clicker-barebow",
            fields=("archer.draw_control",),
        )


def maximum_draw(case: Case) -> Iterable[Said]:
    """Compare the draw with the longest that the bow's maker allows."""
    most = case.bow.maximum_draw
    if most is None:
        return
    facts = case.facts
    draw = facts.longest_draw + limits.STANDARD_OFFSET
    reach = facts.draw + limits.STANDARD_OFFSET + facts.allowance + facts.growth
    if facts.estimated:
        reach = reach + limits.ARM_SPAN_MARGIN
    yield Finding(
        severity="stop",
        message="The draw, to the pivot point plus 1 3/4 in, is longer than the bow's maker "
        "allows. Do not draw this bow so far.",
        when=limits.longer(draw, most),
        measured=Measure(draw),
        limit=Measure(most),
        source="bow-maker",
        fields=("bow.maximum_draw",),
    )
    yield Finding(
        severity="caution",
        message=(
            "With its spread and growth, the draw to the pivot point plus 1 3/4 in may become "
            "longer than the bow's maker allows. Measure it often."
        ),
        when=both(limits.longer(reach, most), negate(limits.longer(draw, most))),
        measured=Measure(reach),
        limit=Measure(most),
        source="bow-maker",
        fields=("bow.maximum_draw",),
    )


def arm_span(case: Case) -> Iterable[Said]:
    """Compare the arm span with the draw, or say that it replaces one."""
    span = case.archer.arm_span
    if case.facts.estimated:
        yield Finding(
            severity="caution",
            message="The draw is an estimate from the arm span. Measure the draw itself.",
            source="arm-span",
            fields=("archer.draw_length",),
        )
    elif span is not None:
        difference = absolute(estimate_from_arm_span(span) - case.facts.mean_draw)
        yield Finding(
            severity="caution",
            message="Arm span and draw contradict each other. Check figures, units and convention.",
            when=limits.longer(difference, limits.ARM_SPAN_DISAGREEMENT),
            measured=Measure(difference),
            limit=Measure(limits.ARM_SPAN_DISAGREEMENT),
            source="project-tolerance",
            fields=("archer.arm_span",),
        )


def draw_weight_basis(case: Case) -> Iterable[Said]:
    """Note a draw weight that was converted."""
    if case.bow.draw_weight_basis == "at_28" and case.facts.draw_weight is not None:
        yield Finding(
            severity="note",
            message=(
                "The draw weight at this archer's draw is estimated from the weight at 28 in. "
                "Weigh the bow at this draw."
            ),
            measured=Measure(case.facts.draw_weight, "force"),
            source="force-per-inch",
            fields=("bow.draw_weight_basis",),
        )
