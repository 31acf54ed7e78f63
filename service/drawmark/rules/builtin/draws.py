"""Rules of the core about the draw: floors, its control, the bow's limit, the arm span."""

from __future__ import annotations

from collections.abc import Iterable

from drawmark.fitting import limits
from drawmark.fitting.columns import Truth, absolute, both, maximum, negate, rounded_down
from drawmark.fitting.columns import minimum as smaller
from drawmark.fitting.draw.control import exposed_of, tip_beyond, tip_passes
from drawmark.fitting.draw.draw_length import estimate_from_arm_span
from drawmark.fitting.draw.height_growth import estimate_draw_growth
from drawmark.fitting.draw.spread import least_deviation
from drawmark.fitting.floors import floors_of, minimum_of, with_control
from drawmark.fitting.window import clicker_slack, clicker_window
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
    if case.facts.control == "none":
        return  # a floor keeps the shaft's end past the back
    checked: Truth = case.archer.coach_checked  # a mask where it differs in a column
    if checked is not True and case.facts.usable_length is not None:
        end = case.facts.usable_length - case.facts.draw - case.facts.allowance
        if case.facts.control == "settled":
            end = end - case.facts.growth
        yield Finding(
            severity="caution",
            message=(
                "At the longest expected draw the shaft ends behind the back of the bow, by the "
                "distance measured. Have a coach watch, or use a longer arrow."
            ),
            when=both(negate(checked), limits.shorter(end, case.facts.back)),
            measured=Measure(case.facts.back - end),
            source="project-margin",
            fields=("archer.coach_checked",),
        )


def few_draws(case: Case) -> Iterable[Said]:
    """Say where few draws are known that vary widely, whatever ends them.

    It is said with the severity that these draws bring about, so that it stands in every verdict.
    """
    facts, usable = case.facts, case.facts.usable_length
    if facts.few_vary is False:
        return
    short: Truth = False
    if usable is not None:
        short = limits.shorter(usable + facts.sleeve, minimum_of(facts))
    for severity, when in (
        ("indeterminate" if facts.unshown else "stop", short),
        ("caution", negate(short)),
    ):
        yield Finding(
            severity=severity,  # type: ignore[arg-type]
            message="Only a few draws are known and they vary a lot, so the figure is allowed for "
            "their spread. Measure six or more.",
            when=both(facts.few_vary, when),
            measured=Measure(facts.allowance),
            limit=Measure(limits.WIDE_ALLOWANCE[facts.control]),
            source="project-margin",
            fields=("archer.draws",),
        )


def draw_control(case: Case) -> Iterable[Said]:
    """Name what a claimed control lacks, and doubt one that the draws contradict."""
    facts = case.facts
    if facts.unshown:
        yield Finding(
            severity="note",
            message="The claimed draw control is not shown, so the draw counts as uncontrolled. "
            f"Give or correct {', '.join(facts.unshown)}.",
            fields=facts.unshown,
        )
    if (
        facts.claimed in ("clicker", "draw_stop")
        and facts.variation is not None
        and facts.count is not None
    ):
        deviation = least_deviation(facts.variation, facts.count)
        yield Finding(
            severity="indeterminate",
            message="These draws vary too much for a clicker or a draw stop. Measure them again "
            "with it in use, or do not claim it.",
            when=limits.more(deviation, limits.CONTROLLED_DEVIATION),
            measured=Measure(deviation),
            limit=Measure(limits.CONTROLLED_DEVIATION),
            source="deviation-bound",
            fields=("archer.draw_control",),
        )


def outgrown_control(case: Case) -> Iterable[Said]:
    """Say when a growing archer outgrows an arrow whose draw a clicker or a stop ends."""
    facts, usable = case.facts, case.facts.usable_length
    if facts.control not in ("clicker", "draw_stop") or usable is None:
        return
    # The floors of the core grow with the draw, one for one.
    left = usable + facts.sleeve - minimum_of(facts)
    if facts.control == "clicker":
        exposed = exposed_of(case.arrow)
        assert exposed is not None
        # A longer draw than this pulls the tip past the blade's nearest place.
        left = smaller(left, clicker_slack(facts, case.bow, exposed, usable + facts.sleeve))
    grows = both(limits.longer(facts.growth, 0.0), negate(limits.shorter(left, 0.0)))
    draw = facts.draw + limits.STANDARD_OFFSET
    yield Finding(
        severity="caution",
        message="Growth is stated. Move the clicker's blade or the draw stop with the draw. At a "
        "draw above the limit, to the pivot point plus 1 3/4 in, this arrow is too short.",
        when=grows,
        measured=Measure(draw),
        limit=Measure(draw + left, down=True),
        source="project-margin",
        fields=("archer.growth_allowance",),
    )
    yield Finding(
        severity="note",
        message="The figure is the number of months after which the fastest growing juniors "
        "outgrow this arrow. Check the draw each month.",
        when=grows,
        measured=Measure(rounded_down(maximum(left, 0.0) / estimate_draw_growth()), "number"),
        source="tanner-davies",
        fields=("archer.growth_allowance",),
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
        when=negate(tip_passes(case.bow, case.arrow, case.facts.draw)),
        measured=length,
        limit=Measure(shortest, up=True),
        fields=("bow.clicker_range",),
    )
    beyond = tip_beyond(case.bow, case.arrow, case.facts.draw)
    unsafe: Truth = True
    if not case.facts.unshown:
        unsafe = limits.shorter(longest, minimum_of(with_control(case.facts, "clicker")))
    for message, when in (
        (
            "The arrow is too long for the clicker. First move or extend the clicker. If that is "
            "not possible, cut to the limit and no further.",
            negate(unsafe),
        ),
        (
            "The arrow is too long for the clicker. Move or extend the clicker. Do not cut the "
            "arrow: one that reaches the clicker is not known to be safe.",
            unsafe,
        ),
    ):
        yield Finding(
            severity="caution",
            message=message,
            when=both(beyond, when),
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
    reach = facts.draw + limits.STANDARD_OFFSET + facts.spread_allowance + facts.growth
    if facts.estimated:
        reach = reach + limits.ARM_SPAN_MARGIN
    if facts.draw_slack:
        yield Finding(
            severity="indeterminate",
            message="The draw may be longer than the bow's maker allows. It was measured to the "
            "back of the bow, whose place is not known. Give its place.",
            when=both(
                limits.longer(draw + facts.draw_slack, most), negate(limits.longer(draw, most))
            ),
            measured=Measure(draw + facts.draw_slack),
            limit=Measure(most),
            source="bow-maker",
            fields=("bow.back_position",),
        )
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
        difference = absolute(
            estimate_from_arm_span(span) - case.facts.draw + case.facts.growth_since_measured
        )
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
                "The draw weight at this archer's draw is estimated from the weight at 28 in. The "
                "figure is the heaviest that it may be. Weigh the bow at this draw."
            ),
            measured=Measure(case.facts.draw_weight, "force"),
            source="force-per-inch",
            fields=("bow.draw_weight_basis",),
        )
