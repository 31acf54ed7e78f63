"""An invented club: archers and sets of many shapes, and rules made on the spot."""

from __future__ import annotations

import dataclasses
from typing import Any

from hypothesis import strategies as st

from builders.model import archer
from drawmark import rules
from drawmark.answers.club.members import QueuedArcher, RackSet
from drawmark.answers.common.context import Context
from drawmark.fitting.model import (
    Archer,
    Arrow,
    Bow,
    ClickerRange,
    Fletching,
    Nock,
    Point,
    Shaft,
    Station,
)
from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE, UNITS
from rules.bench import plugin, rule, ruleset
from rules.fittings import core_ruleset

CORE = core_ruleset()
CONTEXT = Context(ruleset=CORE, engine="test")
quarters = st.integers(92, 128).map(lambda steps: steps * INCH / 4)


def with_rules(*made: Any, missing: tuple[str, ...] = (), required: tuple[str, ...] = ()) -> Any:
    """The core's rules and some of a plugin."""
    extra = ruleset(*([plugin(*made)] if made else []), required=required)
    absent = ruleset(missing=missing).missing
    return dataclasses.replace(CORE, rules=(*CORE.rules, *extra.rules), missing=absent)


def hall(case: rules.Case) -> Any:
    """Floors, a ceiling and findings, in single figures or columns."""
    yield rules.floor(case.facts.draw + 0.085, "our hall asks for more")
    yield rules.ceiling(case.facts.draw + 0.16, "no longer here")
    if case.facts.draw_weight is not None:
        yield rules.stop(
            "too heavy here",
            when=case.facts.draw_weight > 150.0,
            measured=rules.Measure(case.facts.draw_weight, "force"),
            limit=rules.Measure(150.0, "force"),
        )
    yield rules.indeterminate("who knows", when=case.arrow.length > 0.79)


def by_pair(case: rules.Case) -> Any:
    return [said for said in hall(case) if said.when]


def fails_on_some(case: rules.Case) -> Any:
    if case.arrow.length > 0.74:
        raise ValueError(f"too long for me: {case.arrow.length}")
    return [rules.note("looked at")]


RULESETS = {
    "core": CORE,
    "columns": with_rules(rule(hall, check_many=hall)),
    "pair by pair": with_rules(rule(by_pair)),
    "some that fail": with_rules(rule(fails_on_some)),
    "lacking and required": with_rules(
        rule(hall, check_many=hall, needs=("arrow.mass",), required=True)
    ),
    "missing": with_rules(missing=("hall",)),
}


@st.composite
def archers(draw: Any) -> tuple[Archer, Bow]:
    """An archer with a bow, of any shape."""
    length = draw(quarters) - 2 * INCH
    shown = draw(st.sampled_from(["draw", "few", "many", "draws", "arm span"]))
    told: dict[str, Any] = {"draw_length": length, "draw_length_convention": "standard"}
    if shown == "few":
        told |= {"draw_variation": 0.006, "draw_count": draw(st.sampled_from([3, 5]))}
    if shown == "many":
        told |= {"draw_variation": 0.006, "draw_count": draw(st.sampled_from([6, 12, 30]))}
    if shown == "draws":
        several = draw(st.integers(1, 13))
        del told["draw_length"]
        told["draws"] = tuple(length + 0.002 * (shot % 3) for shot in range(several))
    if shown == "arm span":
        told = {"arm_span": length * 2.5}
    archer = Archer(
        **told,
        draw_control=draw(st.sampled_from(["none", "settled", "clicker", "draw_stop"])),
        growth_allowance=draw(st.sampled_from([None, 0.0, 0.5 * INCH])),
        coach_checked=draw(st.booleans()),
    )
    blade = {
        "rest_position": draw(st.sampled_from([0.0, 0.3 * INCH])),
        "clicker_range": ClickerRange(near=INCH, far=draw(st.sampled_from([2.0, 4.0])) * INCH),
    }
    bow = Bow(
        kind=draw(st.sampled_from(["recurve", "compound", "longbow"])),
        draw_weight=draw(st.integers(14, 60)) * POUND_FORCE,
        draw_weight_basis=draw(st.sampled_from(["own_draw", "at_28"])),
        maximum_draw=draw(st.sampled_from([None, 29 * INCH])),
        **(blade if draw(st.booleans()) else {}),
    )
    if draw(st.booleans()):
        bow = dataclasses.replace(bow, draw_weight=None, draw_weight_basis=None)
    return archer, bow


@st.composite
def arrows(draw: Any) -> Arrow:
    """The arrow of a set, of any shape."""
    spine = UNITS["astm"].to_si(float(draw(st.sampled_from([400, 600, 900, 1300]))))
    parts: dict[str, Any] = {}
    told = draw(st.sampled_from(["length", "mass", "parts", "all", "stations"]))
    if told in ("mass", "all"):
        parts["mass"] = draw(st.integers(150, 400)) * GRAIN
    if told in ("parts", "all", "stations"):
        stations = [
            Station(position=position, relative_stiffness=stiff, relative_mass=1.0)
            for position, stiff in ((0.0, 0.8), (0.4, 1.0), (0.85, 0.9))
        ]
        parts["shaft"] = Shaft(
            static_spine=spine,
            mass_per_length=draw(st.sampled_from([0.009, 0.013])),
            material=draw(st.sampled_from([None, "carbon", "wood"])),
            stations=tuple(stations) if told == "stations" else None,
        )
        parts["point"] = Point(mass=90 * GRAIN, exposed_length=0.7 * INCH, sleeve_length=0.0)
    if told == "all":
        parts["nock"] = Nock(mass=9 * GRAIN, projection=0.008)
        parts["fletching"] = Fletching(mass=12 * GRAIN, rear_edge=0.03, length=0.045)
    return Arrow(length=draw(quarters), **parts)


def queued(name: str, inches: float, pounds: float | None = None, **more: Any) -> QueuedArcher:
    """An archer by the draw, standard convention, whose minimum is the draw and an inch."""
    weight: dict[str, Any] = {}
    if pounds is not None:
        weight = {"draw_weight": pounds * POUND_FORCE, "draw_weight_basis": "own_draw"}
    return QueuedArcher(
        id=name,
        archer=archer(inches),
        bow=Bow(kind="recurve", **weight),
        **more,
    )


def rack(name: str, inches: float, count: int = 6, spine: float | None = None, **more: Any) -> Any:
    """A set by its length, with a stiffness where one is given."""
    parts: dict[str, Any] = {}
    if spine is not None:
        parts = {
            "shaft": Shaft(static_spine=UNITS["astm"].to_si(spine), mass_per_length=0.0115),
            "point": Point(mass=90 * GRAIN),
        }
    return RackSet(id=name, arrow=Arrow(length=inches * INCH, **parts), count=count, **more)
