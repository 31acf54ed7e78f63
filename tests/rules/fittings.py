"""Invented fittings as strategies, and columns of them."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from drawmark.fitting.model import (
    Archer,
    Arrow,
    Bow,
    ClickerRange,
    Fitting,
    Nock,
    Point,
    Shaft,
)
from drawmark.web.wire.installed_rules import core_rules

real = st.floats


def core_ruleset() -> Any:
    """The core's rules alone, whatever else is installed."""
    return core_rules().configuration.rulesets["default"]


@st.composite
def shapes(draw: Any) -> dict[str, Any]:
    """What the fittings of a column have alike: controls, words, and which fields are given."""
    control = draw(st.sampled_from(["none", "settled", "draw_stop"]))
    return {
        "control": control,
        "kind": draw(st.sampled_from(["recurve", "barebow", "longbow", "compound"])),
        "convention": draw(st.sampled_from(["to_pivot", "standard", "to_back"])),
        "count": draw(st.sampled_from([None, 4.0, 6.0, 12.0, 30.0])),
        "experience": draw(st.sampled_from([None, "first_evenings", "learning", "practised"])),
        "basis": draw(st.sampled_from(["own_draw", "at_28"])),
        "coach": draw(st.booleans()),
        "material": draw(st.sampled_from(["wood", "carbon"])),
        **{
            name: draw(st.booleans())
            for name in (
                "growth",
                "rest",
                "span",
                "weight",
                "back",
                "sleeve",
                "mass",
                "most",
                "parts",
            )
        },
    }


@st.composite
def members(draw: Any, shape: dict[str, Any]) -> Fitting:
    """One fitting of a shape."""

    def given(name: str, low: float, high: float) -> float | None:
        return draw(real(low, high)) if shape[name] else None

    spread = shape["count"] is not None
    archer = Archer(
        draw_length=draw(real(0.5, 0.85)),
        draw_length_convention=shape["convention"],
        draw_variation=draw(real(0.0, 0.03)) if spread else None,
        draw_count=shape["count"],
        growth_allowance=given("growth", 0.0, 0.05),
        arm_span=given("span", 1.2, 2.2),
        draw_control=shape["control"],
        experience=shape["experience"],
        coach_checked=shape["coach"],
    )
    bow = Bow(
        kind=shape["kind"],
        draw_weight=given("weight", 60.0, 300.0),
        draw_weight_basis=shape["basis"] if shape["weight"] else None,
        rest_position=given("rest", -0.05, 0.05),
        back_position=given("back", 0.02, 0.08),
        maximum_draw=given("most", 0.6, 0.9),
        minimum_arrow_mass=given("weight", 0.01, 0.03),
    )
    arrow = Arrow(
        length=draw(real(0.6, 0.95)),
        mass=given("mass", 0.01, 0.04),
        shaft=Shaft(
            static_spine=draw(real(2.0, 9.0)),
            mass_per_length=given("parts", 0.008, 0.03),
            outside_diameter=draw(real(0.004, 0.012)),
            material=shape["material"],
        ),
        point=Point(
            mass=given("parts", 0.003, 0.015),
            exposed_length=draw(real(0.0, 0.03)),
            sleeve_length=given("sleeve", 0.0, 0.03),
        ),
        nock=Nock(mass=0.0006, projection=draw(real(0.0, 0.015))),
    )
    return Fitting(archer=archer, bow=bow, arrow=arrow)


@st.composite
def alike(draw: Any, size: int = 4) -> list[Fitting]:
    """Fittings that can stand in one column."""
    shape = draw(shapes())
    return [draw(members(shape)) for _ in range(size)]


@st.composite
def clickers(draw: Any) -> Fitting:
    """A fitting whose clicker counts, the arrow's length left open."""
    near = draw(real(0.0, 0.1))
    return Fitting(
        archer=Archer(
            draw_length=draw(real(0.5, 0.85)),
            draw_length_convention="to_pivot",
            draw_control="clicker",
            growth_allowance=draw(real(0.0, 0.05)),
        ),
        bow=Bow(
            kind="recurve",
            rest_position=draw(real(-0.03, 0.03)),
            clicker_range=ClickerRange(near=near, far=near + draw(real(0.0, 0.1))),
        ),
        arrow=Arrow(point=Point(exposed_length=draw(real(0.0, 0.03)))),
    )
