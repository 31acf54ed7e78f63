"""Each rule of the core, where it speaks and where it does not."""

from __future__ import annotations

import pytest

from drawmark.fitting.model import Archer, Arrow, Bow, Fitting, Fletching, Nock, Point, Shaft
from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE, UNITS
from drawmark.rules.evaluate import evaluate
from drawmark.web.installed import core_rules

RULES = core_rules().configuration
CORE = RULES.rulesets[RULES.default]


def archer(**more):
    return Archer(**{"draw_length": 28 * INCH, "draw_length_convention": "standard", **more})


def bow(pounds=30.0, kind="recurve", **more):
    return Bow(kind=kind, draw_weight=pounds * POUND_FORCE, draw_weight_basis="own_draw", **more)


def arrow(length=30.0, spine=700.0, point=90.0, **more):
    shaft = more.pop("shaft", {})
    return Arrow(
        length=length * INCH,
        shaft=Shaft(
            **{
                "static_spine": UNITS["astm"].to_si(spine),
                "mass_per_length": UNITS["gr/in"].to_si(6.5),
                **shaft,
            }
        ),
        point=Point(mass=point * GRAIN, exposed_length=0.7 * INCH),
        nock=Nock(mass=9 * GRAIN),
        fletching=Fletching(mass=14 * GRAIN, rear_edge=INCH, length=1.75 * INCH),
        **more,
    )


def said(who=None, what=None, shot=None):
    outcome = evaluate(
        Fitting(archer=who or archer(), bow=what or bow(), arrow=shot or arrow()), CORE
    )
    return outcome.verdict, {(placed.rule, placed.said.severity) for placed in outcome.findings}


def test_a_usual_fitting_passes():
    assert said() == ("pass", set())


@pytest.mark.parametrize(
    ("who", "what", "shot", "rule", "severity"),
    [
        pytest.param(None, None, arrow(28.4), "minimum-length", "stop", id="too short"),
        pytest.param(None, None, arrow(29.2), "minimum-length", "caution", id="near the minimum"),
        pytest.param(
            archer(draw_control="clicker"),
            None,
            arrow(28.7),
            "minimum-length",
            "indeterminate",
            id="claimed clicker",
        ),
        pytest.param(
            archer(draw_control="clicker"),
            None,
            arrow(28.4),
            "minimum-length",
            "stop",
            id="claimed clicker, off the rest",
        ),
        pytest.param(archer(draw_control="clicker"), None, None, "draw-control", "note", id="note"),
        pytest.param(None, None, arrow(27.9), "shaft-behind-back", "caution", id="behind back"),
        pytest.param(None, bow(60), arrow(spine=1000), "launch-load", "stop", id="far too weak"),
        pytest.param(None, bow(34), arrow(spine=900), "launch-load", "caution", id="weak"),
        pytest.param(None, bow(70), arrow(spine=350), "arrow-mass", "stop", id="too light"),
        pytest.param(
            None, bow(40, "longbow"), arrow(spine=500), "arrow-mass", "caution", id="light, longbow"
        ),
        pytest.param(
            None,
            bow(minimum_arrow_mass=400 * GRAIN),
            None,
            "maker-arrow-mass",
            "stop",
            id="maker's least mass",
        ),
        pytest.param(None, None, arrow(point=200), "balance-range", "caution", id="point heavy"),
        pytest.param(
            None, bow(maximum_draw=27 * INCH), None, "maximum-draw", "stop", id="maximum draw"
        ),
        pytest.param(
            archer(draw_control="clicker"),
            bow(kind="barebow"),
            None,
            "clicker-in-barebow",
            "note",
            id="barebow",
        ),
        pytest.param(
            None,
            None,
            arrow(shaft={"outside_diameter": 0.0095}),
            "shaft-diameter",
            "note",
            id="thick",
        ),
        pytest.param(
            None,
            bow(kind="compound"),
            arrow(shaft={"material": "wood"}),
            "wood-from-compound",
            "caution",
            id="wood from a compound",
        ),
        pytest.param(archer(arm_span=1.2), None, None, "arm-span", "caution", id="arm span"),
        pytest.param(
            None, None, arrow(mass=450 * GRAIN), "measured-against-parts", "caution", id="weighed"
        ),
        pytest.param(
            None,
            None,
            arrow(balance_point=14 * INCH),
            "measured-against-parts",
            "caution",
            id="balanced",
        ),
    ],
)
def test_rule_speaks(who, what, shot, rule, severity):
    verdict, findings = said(who, what, shot)
    assert (rule, severity) in findings
    order = ["pass", "caution", "indeterminate", "stop"]
    worst = max(order.index("pass" if one == "note" else one) for _, one in findings)
    assert verdict == order[worst]


def test_coach_who_watched_lifts_the_caution():
    _, findings = said(archer(coach_checked=True), None, arrow(27.9))
    assert ("shaft-behind-back", "caution") not in findings


@pytest.mark.parametrize("unit", ["mm", "cm", "m", "in", "ft"])
def test_exactly_at_the_floor_in_every_unit(unit):
    length = UNITS[unit].to_si(UNITS[unit].from_si(29 * INCH))
    verdict, findings = said(None, None, arrow(length / INCH))
    assert (verdict, findings) == ("caution", {("minimum-length", "caution")})
