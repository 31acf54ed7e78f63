"""The core's own rules, which come in by the same door as a plugin's."""

from __future__ import annotations

from collections.abc import Iterable

from drawmark.fitting import limits
from drawmark.fitting.balance import disagreement_of
from drawmark.fitting.columns import absolute, both, negate
from drawmark.fitting.control import exposed_of
from drawmark.fitting.draw import estimate_from_arm_span
from drawmark.fitting.length import clicker_window, floors_of
from drawmark.rules.model import Case, Check, Finding, Floor, Measure, Rule, Said, Term
from drawmark.rules.spec import hookimpl

_DRAW = "archer.draw_length|archer.draws|archer.arm_span"
_MASS = (
    "arrow.mass|arrow.shaft.mass_per_length",
    "arrow.mass|arrow.point.mass",
    "arrow.mass|arrow.length",
)
_REASONS = {
    "bow-back": "the arrow reaches past the back of the bow, whatever the draw does",
    "rest-retention": "the shaft stays on the rest at the longest expected draw",
    "hand": "the shaft's end never comes behind the pivot point, and so into the hand",
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
            terms=tuple(Term(term.name, term.value, term.source) for term in floor.terms),
            source=_SOURCES[floor.id],
        )


def shaft_behind_back(case: Case) -> Iterable[Said]:
    """Ask for a coach where the shaft's end comes behind the back of the bow."""
    if not case.archer.coach_checked and case.facts.usable_length is not None:
        end = case.facts.usable_length - case.facts.mean_draw
        yield Finding(
            severity="caution",
            message="the shaft's end comes behind the back of the bow: a coach should watch",
            when=limits.shorter(end, case.facts.back),
            measured=Measure(end),
            limit=Measure(case.facts.back),
            source="project-margin",
            fields=("archer.coach_checked",),
        )


def draw_control(case: Case) -> Iterable[Said]:
    """Name what a claimed control lacks."""
    if case.facts.unshown:
        yield Finding(
            severity="note",
            message="the claimed control of the draw is not shown by its fields and counts as none",
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
        message="the arrow is too short for the clicker",
        when=limits.shorter(case.arrow.length, shortest),
        measured=length,
        limit=Measure(shortest, up=True),
        fields=("bow.clicker_range",),
    )
    yield Finding(
        severity="caution",
        message="the arrow is too long for the clicker",
        when=limits.longer(case.arrow.length, longest),
        measured=length,
        limit=Measure(longest),
        fields=("bow.clicker_range",),
    )


def clicker_in_barebow(case: Case) -> Iterable[Said]:
    """Note that barebow allows no clicker."""
    if case.bow.kind == "barebow" and case.archer.draw_control == "clicker":
        yield Finding(
            severity="note",
            message="barebow competition allows no draw check indicator",
            source="wa-clicker-barebow",
            fields=("archer.draw_control",),
        )


def launch_load(case: Case) -> Iterable[Said]:
    """Hold the push of the string against what the shaft bears."""
    load = case.facts.launch_load
    if load is None:
        return
    yield Finding(
        severity="stop",
        message="the shaft is far too weak for this draw weight and may break",
        when=limits.more(load, limits.LAUNCH_LOAD_STOP),
        measured=Measure(load, "number"),
        limit=Measure(limits.LAUNCH_LOAD_STOP, "number"),
        source="project-launch-load",
        fields=("arrow.shaft.static_spine",),
    )
    yield Finding(
        severity="caution",
        message="the shaft is weak for this draw weight",
        when=both(
            limits.more(load, limits.LAUNCH_LOAD_CAUTION),
            negate(limits.more(load, limits.LAUNCH_LOAD_STOP)),
        ),
        measured=Measure(load, "number"),
        limit=Measure(limits.LAUNCH_LOAD_CAUTION, "number"),
        source="project-launch-load",
        fields=("arrow.shaft.static_spine",),
    )


def arrow_mass(case: Case) -> Iterable[Said]:
    """Hold the arrow's mass against the bow's force."""
    mass, weight = case.facts.arrow_mass, case.facts.draw_weight
    if mass is None or weight is None:
        return
    stop = weight * limits.ARROW_MASS_STOP
    yield Finding(
        severity="stop",
        message="the arrow is lighter than 5 grains per pound of draw force, the arrow of a speed "
        "rating and not a safety limit: the bow's maker may ask for more",
        when=limits.less(mass, stop),
        measured=Measure(mass, "mass"),
        limit=Measure(stop, "mass", up=True),
        source="astm-f1544",
        fields=("arrow.mass",),
    )
    wooden = case.arrow.shaft is not None and case.arrow.shaft.material == "wood"
    if wooden or case.bow.kind == "longbow":
        caution = weight * limits.ARROW_MASS_WOOD
        yield Finding(
            severity="caution",
            message="light for a wooden arrow or a longbow",
            when=both(limits.less(mass, caution), negate(limits.less(mass, stop))),
            measured=Measure(mass, "mass"),
            limit=Measure(caution, "mass", up=True),
            source="wood-arrow-mass",
            fields=("arrow.mass",),
        )


def maker_arrow_mass(case: Case) -> Iterable[Said]:
    """Hold the arrow's mass against the least that the bow's maker allows."""
    mass, least = case.facts.arrow_mass, case.bow.minimum_arrow_mass
    if mass is not None and least is not None:
        yield Finding(
            severity="stop",
            message="the arrow is lighter than the bow's maker allows",
            when=limits.less(mass, least),
            measured=Measure(mass, "mass"),
            limit=Measure(least, "mass", up=True),
            source="bow-maker",
            fields=("bow.minimum_arrow_mass",),
        )


def balance_range(case: Case) -> Iterable[Said]:
    """Say where the balance is out of the common range."""
    balance = case.facts.front_of_centre
    if balance is None:
        return
    for out, limit, message in (
        (
            limits.less(balance, limits.BALANCE_LOW),
            limits.BALANCE_LOW,
            "balance lies further back than usual",
        ),
        (
            limits.more(balance, limits.BALANCE_HIGH),
            limits.BALANCE_HIGH,
            "balance lies further ahead than usual",
        ),
    ):
        yield Finding(
            severity="caution",
            message=message,
            when=out,
            measured=Measure(balance, "percent"),
            limit=Measure(limit, "percent"),
            source="balance-range",
            fields=("arrow.point.mass",),
        )


def maximum_draw(case: Case) -> Iterable[Said]:
    """Hold the draw against the longest that the bow's maker allows."""
    most = case.bow.maximum_draw
    if most is None:
        return
    draw = case.facts.draw + limits.STANDARD_OFFSET
    reach = draw + case.facts.allowance + case.facts.growth
    yield Finding(
        severity="stop",
        message="the draw is longer than the bow's maker allows",
        when=limits.longer(draw, most),
        measured=Measure(draw),
        limit=Measure(most),
        source="bow-maker",
        fields=("bow.maximum_draw",),
    )
    yield Finding(
        severity="caution",
        message="with its spread and growth the draw may pass what the bow's maker allows",
        when=both(limits.longer(reach, most), negate(limits.longer(draw, most))),
        measured=Measure(reach),
        limit=Measure(most),
        source="bow-maker",
        fields=("bow.maximum_draw",),
    )


def shaft_diameter(case: Case) -> Iterable[Said]:
    """Note shafts too thick for competition."""
    diameter = None if case.arrow.shaft is None else case.arrow.shaft.outside_diameter
    if diameter is not None:
        yield Finding(
            severity="note",
            message="thicker than target competition allows",
            when=limits.longer(diameter, limits.SHAFT_DIAMETER),
            measured=Measure(diameter),
            limit=Measure(limits.SHAFT_DIAMETER),
            source="wa-shaft-diameter",
            fields=("arrow.shaft.outside_diameter",),
        )


def wood_from_compound(case: Case) -> Iterable[Said]:
    """Warn of wooden arrows from a compound bow."""
    if case.bow.kind == "compound" and case.arrow.shaft is not None:
        yield Finding(
            severity="caution",
            message="wooden arrows are not for compound bows unless their maker says so",
            when=case.arrow.shaft.material == "wood",
            source="wood-compound",
            fields=("arrow.shaft.material",),
        )


def arm_span(case: Case) -> Iterable[Said]:
    """Hold the arm span against the draw, or say that it stands in for one."""
    span = case.archer.arm_span
    if case.facts.estimated:
        yield Finding(
            severity="caution",
            message="the draw is an estimate from the arm span: measure it",
            source="arm-span",
            fields=("archer.draw_length",),
        )
    elif span is not None:
        difference = absolute(estimate_from_arm_span(span) - case.facts.mean_draw)
        yield Finding(
            severity="caution",
            message="arm span and draw contradict each other: check figures, units, convention",
            when=limits.longer(difference, limits.ARM_SPAN_DISAGREEMENT),
            measured=Measure(difference),
            limit=Measure(limits.ARM_SPAN_DISAGREEMENT),
            source="project-tolerance",
            fields=("archer.arm_span",),
        )


def measured_against_parts(case: Case) -> Iterable[Said]:
    """Hold what was weighed and balanced against the sum of the parts."""
    if case.arrow.length is None:
        return
    apart = disagreement_of(case.arrow)
    if apart.mass is not None:
        assert case.arrow.mass is not None
        yield Finding(
            severity="caution",
            message="the weighed mass contradicts the sum of the parts",
            when=limits.more(absolute(apart.mass), limits.MASS_DISAGREEMENT),
            measured=Measure(case.arrow.mass, "mass"),
            limit=Measure(case.arrow.mass * (1 - apart.mass), "mass"),
            source="project-tolerance",
            fields=("arrow.mass",),
        )
    if apart.balance_point is not None:
        assert case.arrow.balance_point is not None
        yield Finding(
            severity="caution",
            message="the measured balance point contradicts the parts",
            when=limits.longer(absolute(apart.balance_point), limits.BALANCE_DISAGREEMENT),
            measured=Measure(case.arrow.balance_point),
            limit=Measure(case.arrow.balance_point - apart.balance_point),
            source="project-tolerance",
            fields=("arrow.balance_point",),
        )


def draw_weight_basis(case: Case) -> Iterable[Said]:
    """Note a draw weight that was converted."""
    if case.bow.draw_weight_basis == "at_28" and case.facts.draw_weight is not None:
        yield Finding(
            severity="note",
            message="the draw weight at this draw is an estimate from that at 28 in",
            measured=Measure(case.facts.draw_weight, "force"),
            source="force-per-inch",
            fields=("bow.draw_weight_basis",),
        )


def _rule(
    name: str,
    title: str,
    check: Check,
    *needs: str,
    floors: bool = False,
    source: str | None = None,
) -> Rule:
    return Rule(
        id=name,
        title=title,
        check=check,
        check_many=check,
        needs=needs,
        gives=frozenset(("floor",)) if floors else frozenset(("finding",)),
        required=floors,
        source=source,
    )


@hookimpl
def drawmark_rules() -> list[Rule]:
    """Give the core's rules."""
    return [
        _rule(
            "minimum-length",
            "Minimum safe length.",
            minimum_length,
            _DRAW,
            floors=True,
            source="margin-one-inch",
        ),
        _rule(
            "shaft-behind-back",
            "Shaft's end against the back of the bow.",
            shaft_behind_back,
            "arrow.length",
            source="project-margin",
        ),
        _rule("draw-control", "Control of the draw shown by its fields.", draw_control),
        _rule(
            "clicker-reach",
            "Arrow against the clicker's range.",
            clicker_reach,
            "arrow.length",
            "arrow.point.exposed_length",
            "bow.clicker_range",
        ),
        _rule(
            "clicker-in-barebow",
            "No clicker in barebow.",
            clicker_in_barebow,
            source="wa-clicker-barebow",
        ),
        _rule(
            "launch-load",
            "Draw weight against critical launch force.",
            launch_load,
            "arrow.length",
            "arrow.shaft.static_spine",
            "arrow.shaft.mass_per_length",
            "arrow.point.mass",
            "bow.draw_weight",
            source="project-launch-load",
        ),
        _rule(
            "arrow-mass",
            "Arrow mass for the bow's force.",
            arrow_mass,
            *_MASS,
            "bow.draw_weight",
            source="astm-f1544",
        ),
        _rule(
            "maker-arrow-mass",
            "Least arrow mass by the bow's maker.",
            maker_arrow_mass,
            *_MASS,
            "bow.minimum_arrow_mass",
            source="bow-maker",
        ),
        _rule(
            "balance-range",
            "Front of centre in the common range.",
            balance_range,
            "arrow.length",
            "arrow.balance_point|arrow.shaft.mass_per_length",
            "arrow.balance_point|arrow.point.mass",
            source="balance-range",
        ),
        _rule(
            "maximum-draw",
            "Draw against the bow maker's limit.",
            maximum_draw,
            "bow.maximum_draw",
            source="bow-maker",
        ),
        _rule(
            "shaft-diameter",
            "Shaft diameter for competition.",
            shaft_diameter,
            "arrow.shaft.outside_diameter",
            source="wa-shaft-diameter",
        ),
        _rule(
            "wood-from-compound",
            "Wooden arrows and compound bows.",
            wood_from_compound,
            "arrow.shaft.material",
            source="wood-compound",
        ),
        _rule("arm-span", "Arm span against draw.", arm_span, "archer.arm_span", source="arm-span"),
        _rule(
            "measured-against-parts",
            "Weighed and balanced against the parts.",
            measured_against_parts,
            "arrow.mass|arrow.balance_point",
            "arrow.shaft.mass_per_length",
            "arrow.point.mass",
            source="project-tolerance",
        ),
        _rule(
            "draw-weight-basis",
            "Draw weight at this archer's draw.",
            draw_weight_basis,
            "bow.draw_weight",
            source="force-per-inch",
        ),
    ]
