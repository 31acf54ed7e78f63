"""A club's own minimums, all from its configuration file: no setting, no rule."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from drawmark import rules
from drawmark.fitting.limits import less, more


@dataclass(frozen=True, kw_only=True, slots=True)
class Minimums:
    """What the club asks for; whatever is left out is not asked for."""

    minimum_length: float | None = rules.length(
        rules.inches(12),
        rules.inches(40),
        "Least arrow length, less a sliding collar.",
        default=None,
    )
    margin_beyond_draw: float | None = rules.length(
        0.0,
        rules.inches(8),
        "How far the shaft must reach past the back of the bow, growth allowed for.",
        default=None,
    )
    greatest_draw_weight: float | None = rules.force(
        rules.pounds_force(4), rules.pounds_force(150), "Greatest draw weight.", default=None
    )
    least_arrow_mass: float | None = rules.mass(
        rules.grains(50), rules.grains(1500), "Least mass of an arrow.", default=None
    )
    least_grains_per_pound: float | None = rules.number(
        3.0, 30.0, "Least arrow mass for the draw weight, grains to a pound-force.", default=None
    )


def check_length(case: rules.Case) -> Iterable[rules.Said]:
    """Hold the arrow to the club's least length."""
    least = case.settings.minimum_length
    yield rules.floor(
        least,
        "The club allows no shorter arrow.",
        terms=(rules.Term("the club's least length", least),),
    )


def check_margin(case: rules.Case) -> Iterable[rules.Said]:
    """Hold the arrow to the club's margin past the back of the bow."""
    facts, margin = case.facts, case.settings.margin_beyond_draw
    yield rules.floor(
        facts.draw + facts.growth + facts.back + margin,
        "The club asks for this margin past the back of the bow at full draw.",
        terms=(
            rules.Term("draw to the pivot point", facts.draw),
            rules.Term("growth allowance", facts.growth),
            rules.Term("back of the bow", facts.back),
            rules.Term("the club's margin", margin),
        ),
    )


def check_draw_weight(case: rules.Case) -> Iterable[rules.Said]:
    """Hold the bow to the club's greatest draw weight."""
    weight, greatest = case.facts.draw_weight, case.settings.greatest_draw_weight
    assert weight is not None
    yield rules.stop(
        "The draw weight is above what the club allows here.",
        when=more(weight, greatest),
        measured=rules.Measure(weight, "force"),
        limit=rules.Measure(greatest, "force"),
        fields=("bow.draw_weight",),
    )


def check_arrow_mass(case: rules.Case) -> Iterable[rules.Said]:
    """Hold the arrow to the club's least mass."""
    mass, least = case.facts.arrow_mass, case.settings.least_arrow_mass
    assert mass is not None
    yield rules.stop(
        "The arrow is lighter than the club allows here.",
        when=less(mass, least),
        measured=rules.Measure(mass, "mass"),
        limit=rules.Measure(least, "mass", up=True),
        fields=("arrow.mass",),
    )


def check_mass_for_weight(case: rules.Case) -> Iterable[rules.Said]:
    """Hold the arrow to the club's least mass for the draw weight."""
    mass, weight = case.facts.arrow_mass, case.facts.draw_weight
    assert mass is not None
    assert weight is not None
    least = (
        weight * case.settings.least_grains_per_pound * (rules.grains(1) / rules.pounds_force(1))
    )
    yield rules.stop(
        "The arrow is lighter than the club allows for this draw weight.",
        when=less(mass, least),
        measured=rules.Measure(mass, "mass"),
        limit=rules.Measure(least, "mass", up=True),
        fields=("arrow.mass", "bow.draw_weight"),
    )


def _asked(name: str) -> Callable[[Any], bool]:
    return lambda settings: getattr(settings, name) is not None


@rules.hookimpl
def drawmark_rules() -> list[rules.Rule]:
    """Give the club's rules."""
    return [
        rules.Rule(
            id="minimum-length",
            title="The arrow is at least as long as the club's least length.",
            check=check_length,
            check_many=check_length,
            gives=frozenset({"floor"}),
            settings=Minimums,
            applies=_asked("minimum_length"),
        ),
        rules.Rule(
            id="margin-beyond-draw",
            title="The shaft reaches past the back of the bow by the club's margin.",
            check=check_margin,
            check_many=check_margin,
            gives=frozenset({"floor"}),
            settings=Minimums,
            applies=_asked("margin_beyond_draw"),
        ),
        rules.Rule(
            id="draw-weight",
            title="The draw weight is no greater than the club's limit.",
            check=check_draw_weight,
            check_many=check_draw_weight,
            needs=("facts.draw_weight",),
            gives=frozenset({"finding"}),
            settings=Minimums,
            applies=_asked("greatest_draw_weight"),
        ),
        rules.Rule(
            id="arrow-mass",
            title="The arrow has at least the club's least mass.",
            check=check_arrow_mass,
            check_many=check_arrow_mass,
            needs=("facts.arrow_mass",),
            gives=frozenset({"finding"}),
            settings=Minimums,
            applies=_asked("least_arrow_mass"),
        ),
        rules.Rule(
            id="arrow-mass-for-weight",
            title="The arrow has at least the club's least mass for the draw weight.",
            check=check_mass_for_weight,
            check_many=check_mass_for_weight,
            needs=("facts.arrow_mass", "facts.draw_weight"),
            gives=frozenset({"finding"}),
            settings=Minimums,
            applies=_asked("least_grains_per_pound"),
        ),
    ]
