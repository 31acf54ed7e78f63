"""Rules of the core about the arrow: strength, mass, balance, material, contradictions."""

from __future__ import annotations

from collections.abc import Iterable

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, both, negate
from drawmark.fitting.draw.draw_weight import force_gradients
from drawmark.fitting.mechanics.balance import disagreement_of
from drawmark.fitting.mechanics.launch import launch_load_limits
from drawmark.rules.model import Case, Finding, Measure, Said


def launch_load(case: Case) -> Iterable[Said]:
    """Hold the push of the string against what the shaft bears."""
    load = case.facts.launch_load
    if load is None:
        return
    doubtful, far = launch_load_limits(case.arrow.shaft)
    yield Finding(
        severity="stop",
        message="The shaft is far too weak for this draw weight and may break. Do not shoot it.",
        when=limits.more(load, far),
        measured=Measure(load, "number"),
        limit=Measure(far, "number"),
        source="project-launch-load",
        fields=("arrow.shaft.static_spine",),
    )
    yield Finding(
        severity="caution",
        message="The shaft is weak for this draw weight. Look at its maker's chart before you "
        "shoot it.",
        when=both(limits.more(load, doubtful), negate(limits.more(load, far))),
        measured=Measure(load, "number"),
        limit=Measure(doubtful, "number"),
        source="project-launch-load",
        fields=("arrow.shaft.static_spine",),
    )


def arrow_mass(case: Case) -> Iterable[Said]:
    """Hold the arrow's mass against the bow's force."""
    mass, weight = case.facts.arrow_mass, case.facts.draw_weight
    least = case.facts.least_draw_weight
    if mass is None or weight is None or least is None:
        return
    light, stop = weight * limits.ARROW_MASS_CAUTION, weight * limits.ARROW_MASS_STOP
    is_light = limits.less(mass, light)
    yield Finding(
        severity="stop",
        message="The arrow is lighter than 5 grains per pound of draw force. Do not shoot it. "
        "That is the arrow of a speed test, not a safety limit of its own. Ask the bow's maker "
        "what the bow bears.",
        when=limits.less(mass, stop),
        measured=Measure(mass, "mass"),
        limit=Measure(stop, "mass", up=True),
        source="astm-f1544",
        fields=("arrow.mass",),
    )
    if case.bow.minimum_arrow_mass is None:
        yield Finding(
            severity="caution",
            message="The arrow is lighter than 6 grains per pound of draw force. Light arrows "
            "strain bow and limbs and may end the warranty. Look up what the bow's maker allows.",
            when=both(is_light, negate(limits.less(mass, stop))),
            measured=Measure(mass, "mass"),
            limit=Measure(light, "mass", up=True),
            source="light-arrow",
            fields=("bow.minimum_arrow_mass",),
        )
    yield Finding(
        severity="indeterminate",
        message="The arrow is heavier than is usual for this draw weight. Check the figure and "
        "its unit: grains are not grams.",
        when=both(
            limits.more(mass, limits.HEAVY_ARROW),
            limits.more(mass, least * limits.HEAVY_ARROW_FOR_BOW),
        ),
        measured=Measure(mass, "mass"),
        limit=Measure(limits.HEAVY_ARROW, "mass"),
        source="project-tolerance",
        fields=("arrow.mass",),
    )
    wooden = case.arrow.shaft is not None and case.arrow.shaft.material == "wood"
    if wooden or case.bow.kind == "longbow":
        caution = weight * limits.ARROW_MASS_WOOD
        yield Finding(
            severity="caution",
            message="The arrow is light for a wooden arrow or a longbow. Use a heavier one.",
            when=both(limits.less(mass, caution), negate(is_light)),
            measured=Measure(mass, "mass"),
            limit=Measure(caution, "mass", up=True),
            source="wood-arrow-mass",
            fields=("arrow.mass",),
        )


def _grown(weight: Real, case: Case) -> Real:
    """Draw weight once the draw has grown; a compound's weight is its peak, whatever the draw."""
    if case.bow.kind == "compound":
        return weight
    stated = case.bow.draw_weight
    assert stated is not None
    return weight + case.facts.growth * force_gradients(stated)[1]


def grown_draw_weight(case: Case) -> Iterable[Said]:
    """Hold shaft and mass against the draw weight once the draw has grown as far as allowed for.

    The heavier end of the trade's rule tells that weight; what is wrong already is left to the
    rules that say so.
    """
    weight, load, mass = case.facts.draw_weight, case.facts.launch_load, case.facts.arrow_mass
    if weight is None:
        return
    grown = _grown(weight, case)
    if load is not None:
        then = load * (grown / weight)
        doubtful, far = launch_load_limits(case.arrow.shaft)
        beyond_all = limits.more(then, far)
        for severity, limit, beyond, message in (
            (
                "indeterminate",
                far,
                beyond_all,
                "The shaft may be too weak once the draw has grown by the growth allowance. "
                "Allow for less growth, and check again sooner.",
            ),
            (
                "caution",
                doubtful,
                both(limits.more(then, doubtful), negate(beyond_all)),
                "The shaft becomes weak for the draw weight as the draw grows. Check again as "
                "the draw grows.",
            ),
        ):
            yield Finding(
                severity=severity,  # type: ignore[arg-type]
                message=message,
                when=both(beyond, negate(limits.more(load, limit))),
                measured=Measure(then, "number"),
                limit=Measure(limit, "number"),
                source="force-per-inch",
                fields=("archer.growth_allowance",),
            )
    if mass is not None:
        stop = grown * limits.ARROW_MASS_STOP
        yield Finding(
            severity="indeterminate",
            message="The arrow may be lighter than 5 grains per pound of draw force once the draw "
            "has grown. Allow for less growth, and check again sooner.",
            when=both(
                limits.less(mass, stop),
                negate(limits.less(mass, weight * limits.ARROW_MASS_STOP)),
            ),
            measured=Measure(mass, "mass"),
            limit=Measure(stop, "mass", up=True),
            source="astm-f1544",
            fields=("archer.growth_allowance",),
        )


def maker_arrow_mass(case: Case) -> Iterable[Said]:
    """Hold the arrow's mass against the least that the bow's maker allows."""
    mass, least = case.facts.arrow_mass, case.bow.minimum_arrow_mass
    if mass is not None and least is not None:
        yield Finding(
            severity="stop",
            message="The arrow is lighter than the bow's maker allows. Do not shoot it from this "
            "bow.",
            when=limits.less(mass, least),
            measured=Measure(mass, "mass"),
            limit=Measure(least, "mass", up=True),
            source="bow-maker",
            fields=("bow.minimum_arrow_mass",),
        )


def balance_range(case: Case) -> Iterable[Said]:
    """Note a balance out of the common range: unusual, and no fault."""
    balance = case.facts.front_of_centre
    if balance is None:
        return
    for out, limit, message in (
        (
            limits.less(balance, limits.BALANCE_LOW),
            limits.BALANCE_LOW,
            "The balance lies further back than usual. Check the mass of the point.",
        ),
        (
            limits.more(balance, limits.BALANCE_HIGH),
            limits.BALANCE_HIGH,
            "The balance lies further forward than usual. Check the mass of the point.",
        ),
    ):
        yield Finding(
            severity="note",
            message=message,
            when=out,
            measured=Measure(balance, "percent"),
            limit=Measure(limit, "percent"),
            source="balance-range",
            fields=("arrow.point.mass",),
        )


def shaft_diameter(case: Case) -> Iterable[Said]:
    """Note shafts too thick for competition."""
    diameter = None if case.arrow.shaft is None else case.arrow.shaft.outside_diameter
    if diameter is not None:
        yield Finding(
            severity="note",
            message="The shaft is thicker than target competition allows. Do not use it there.",
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
            message="Wooden arrows are not for compound bows. Shoot them only if their maker "
            "says so.",
            when=case.arrow.shaft.material == "wood",
            source="wood-compound",
            fields=("arrow.shaft.material",),
        )


def measured_against_parts(case: Case) -> Iterable[Said]:
    """Hold what was weighed and balanced against the sum of the parts."""
    if case.arrow.length is None:
        return
    apart = disagreement_of(case.arrow)
    if apart.mass is not None:
        assert case.arrow.mass is not None
        summed = case.arrow.mass * (1 - apart.mass)
        yield Finding(
            severity="caution",
            message="The weighed mass contradicts the sum of the parts. Weigh the arrow and its "
            "parts again.",
            when=apart.in_mass,
            measured=Measure(case.arrow.mass, "mass"),
            limit=Measure(summed, "mass"),
            source="project-tolerance",
            fields=("arrow.mass",),
        )
        weight = case.facts.draw_weight
        if weight is not None:
            stop = _grown(weight, case) * limits.ARROW_MASS_STOP
            yield Finding(
                severity="indeterminate",
                message=(
                    "The parts contradict the weighed mass. By the parts, the arrow is lighter "
                    "than 5 grains per pound of draw force, growth included. Weigh it again."
                ),
                when=both(apart.in_mass, limits.less(summed, stop)),
                measured=Measure(summed, "mass"),
                limit=Measure(stop, "mass", up=True),
                source="astm-f1544",
                fields=("arrow.mass",),
            )
    if apart.balance_point is not None:
        assert case.arrow.balance_point is not None
        yield Finding(
            severity="caution",
            message="The measured balance point contradicts the parts. Measure it again, and "
            "check the parts.",
            when=apart.in_balance,
            measured=Measure(case.arrow.balance_point),
            limit=Measure(case.arrow.balance_point - apart.balance_point),
            source="project-tolerance",
            fields=("arrow.balance_point",),
        )
