"""Arrows that are shot every day pass for strength: which match is common practice, no source.

The launch loads beside each table are derived, by this project's own formula. They hold the limits
to what a coach sees on the line; they validate no measured arrow.
"""

from __future__ import annotations

import pytest

from drawmark.fitting.model import Archer, Arrow, Bow, Fitting, Nock, Point, Shaft
from drawmark.fitting.sources import SOURCES
from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE, UNITS
from drawmark.rules.column_trees import group_alike, stack_alike
from drawmark.rules.evaluate import evaluate
from drawmark.rules.evaluate_batch import evaluate_many
from drawmark.rules.model import VERDICTS
from rules.fittings import core_ruleset

CORE = core_ruleset()
POUNDS = (25, 30, 35, 40, 45, 50, 55, 60)


def pair(kind, pounds, inches, spine, unit, per_inch, point, **shaft):
    """An archer drawing 28 in, a bow at its own draw, and an arrow without vanes."""
    return Fitting(
        archer=Archer(
            draw_length=28 * INCH, draw_length_convention="standard", growth_allowance=0.0
        ),
        bow=Bow(kind=kind, draw_weight=pounds * POUND_FORCE, draw_weight_basis="own_draw"),
        arrow=Arrow(
            length=inches * INCH,
            shaft=Shaft(
                static_spine=float(UNITS[unit].to_si(spine)),
                mass_per_length=per_inch * GRAIN / INCH,
                **shaft,
            ),
            point=Point(mass=point * GRAIN),
            nock=Nock(mass=8 * GRAIN),
        ),
    )


def wooden(pounds, per_inch=12.0, point=110, share=1.0):
    """A wooden arrow whose spine in pounds is the share of the draw weight at 28 in."""
    return pair("longbow", pounds, 31, share * pounds, "wood-lb", per_inch, point, material="wood")


def strength(outcome):
    return {
        placed.said.severity
        for placed in outcome.findings
        if placed.rule in ("launch-load", "grown-draw-weight")
    }


@pytest.mark.parametrize("point", [100, 125])
@pytest.mark.parametrize("per_inch", [11.5, 13])
@pytest.mark.parametrize("pounds", POUNDS)
def test_wood_matched_by_the_trades_rule(pounds, per_inch, point):
    """A coach hands these out: wood spine in pounds is the draw weight at 28 in.

    Common practice, no source; their loads of 2.1 to 2.2 are derived.
    """
    outcome = evaluate(wooden(pounds, per_inch, point), CORE)
    assert 2.05 < outcome.facts.launch_load < 2.2
    assert not strength(outcome)


@pytest.mark.parametrize(
    ("kind", "pounds", "inches", "spine", "per_inch", "point"),
    [
        ("recurve", 24, 28, 1000, 5.5, 80),
        ("recurve", 30, 28, 850, 6.0, 90),
        ("recurve", 36, 28.5, 700, 6.4, 100),
        ("recurve", 42, 29, 600, 6.8, 110),
        ("recurve", 50, 29.5, 500, 7.5, 120),
        ("compound", 45, 28, 500, 7.5, 100),
        ("compound", 55, 28, 400, 8.3, 110),
        ("compound", 65, 28.5, 340, 9.0, 120),
    ],
)
def test_carbon_on_target_bows(kind, pounds, inches, spine, per_inch, point):
    """A coach hands these out. Which match is common practice, no source; the loads are derived."""
    outcome = evaluate(
        pair(kind, pounds, inches, spine, "astm", per_inch, point, material="carbon"), CORE
    )
    assert 1.1 < outcome.facts.launch_load < 1.7
    assert not strength(outcome)


@pytest.mark.parametrize(
    ("share", "severities"),
    [
        pytest.param(0.85, set(), id="15 % under: still shot"),
        pytest.param(0.80, {"caution"}, id="20 % under: look at it"),
        pytest.param(0.70, {"caution"}, id="30 % under: look at it"),
        pytest.param(0.60, {"stop"}, id="40 % under: may break"),
    ],
)
def test_wood_too_weak_for_the_bow(share, severities):
    """A coach would take the far weaker shaft away. The limits have no source."""
    outcome = evaluate(wooden(40, share=share), CORE)
    assert strength(outcome) == severities
    for placed in outcome.findings:
        if placed.rule == "launch-load":
            assert SOURCES[placed.said.source].mark == "default"


@pytest.mark.parametrize("material", ["carbon", "aluminium", "carbon_aluminium", None])
def test_only_wood_bears_a_wooden_shafts_load(material):
    """The same load is doubtful in any other shaft, and where the material is not told."""
    outcome = evaluate(pair("longbow", 40, 31, 40, "wood-lb", 12, 110, material=material), CORE)
    assert strength(outcome) == {"caution"}


def test_wood_and_carbon_in_columns():
    """A rack of both: each shaft is held to its own limits."""
    rack = [
        wooden(40),
        pair("longbow", 40, 31, 40, "wood-lb", 12, 110, material="carbon"),
        wooden(40, share=0.6),
        wooden(45),
        pair("longbow", 45, 31, 40, "wood-lb", 12, 110, material="carbon"),
    ]
    verdicts = {}
    for places in group_alike(rack):
        many = evaluate_many(stack_alike([rack[at] for at in places]), CORE, len(places))
        verdicts |= zip(places.tolist(), (VERDICTS[at] for at in many.severities), strict=True)
    assert [verdicts[at] for at in range(5)] == ["pass", "caution", "stop", "pass", "stop"]
    assert [evaluate(one, CORE).verdict for one in rack] == [verdicts[at] for at in range(5)]


def test_an_unusual_balance_alone_passes():
    """A coach would not send an archer home for 17 %: the usual range is from memory."""
    one = pair("recurve", 36, 30, 500, "astm", 6.4, 170, material="carbon")
    outcome = evaluate(one, CORE)
    assert outcome.facts.front_of_centre > 17
    (placed,) = outcome.findings
    assert (placed.rule, placed.said.severity) == ("balance-range", "note")
    assert outcome.verdict == "pass"
