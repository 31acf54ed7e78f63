"""The rules of the plugin, by the public kit alone."""

import drawmark_club_minimums
import pytest

from drawmark.rules import testing

PLUGIN = testing.plugin(drawmark_club_minimums, "club-minimums")
ARCHER = {"draw_length": "26 in", "draw_length_convention": "standard"}


@pytest.mark.parametrize(
    ("settings", "archer", "inches"),
    [
        pytest.param({"minimum_length": "28 in"}, {}, 28.0, id="least length"),
        pytest.param({"margin_beyond_draw": "2 in"}, {}, 28.0, id="26 in draw and 2 in"),
        pytest.param(
            {"margin_beyond_draw": "2 in"}, {"growth_allowance": "1 in"}, 29.0, id="and growth"
        ),
        pytest.param(
            {"margin_beyond_draw": "2 in", "minimum_length": "29 in"},
            {},
            29.0,
            id="the longer of the two",
        ),
        pytest.param({}, {}, 0.0, id="nothing set"),
    ],
)
def test_floors(settings, archer, inches):
    outcome = testing.judge(
        PLUGIN, settings=settings, archer={**ARCHER, **archer}, arrow={"length": "30 in"}
    )
    assert outcome.minimum_usable == pytest.approx(inches * 0.0254)


def test_margin_counts_from_a_back_that_stands_further():
    outcome = testing.judge(
        PLUGIN,
        settings={"margin_beyond_draw": "2 in"},
        archer=ARCHER,
        bow={"kind": "longbow", "back_position": "2.25 in"},
    )
    assert outcome.minimum_usable == pytest.approx((24.25 + 2.25 + 2) * 0.0254)


@pytest.mark.parametrize(
    ("settings", "weight", "mass", "rules"),
    [
        pytest.param({"greatest_draw_weight": "24 lbf"}, "24 lbf", None, set(), id="at the limit"),
        pytest.param(
            {"greatest_draw_weight": "24 lbf"}, "24.1 lbf", None, {"draw-weight"}, id="above it"
        ),
        pytest.param({"least_arrow_mass": "300 gr"}, None, "300 gr", set(), id="mass at the limit"),
        pytest.param({"least_arrow_mass": "300 gr"}, None, "299 gr", {"arrow-mass"}, id="below it"),
        pytest.param(
            {"least_grains_per_pound": 8.0}, "40 lbf", "320 gr", set(), id="8 grains to a pound"
        ),
        pytest.param(
            {"least_grains_per_pound": 8.0},
            "40 lbf",
            "319 gr",
            {"arrow-mass-for-weight"},
            id="fewer",
        ),
        pytest.param({}, "90 lbf", "100 gr", set(), id="nothing set"),
    ],
)
def test_limits(settings, weight, mass, rules):
    basis = None if weight is None else "own_draw"
    outcome = testing.judge(
        PLUGIN,
        settings=settings,
        archer=ARCHER,
        bow={"kind": "recurve", "draw_weight": weight, "draw_weight_basis": basis},
        arrow={"length": "30 in", "mass": mass},
    )
    assert {placed.rule for placed in outcome.findings} == rules
    assert outcome.verdict == ("stop" if rules else "pass")


def test_a_limit_without_its_field_is_not_checked():
    outcome = testing.judge(PLUGIN, settings={"greatest_draw_weight": "24 lbf"}, archer=ARCHER)
    assert [(one.rule, one.fields) for one in outcome.not_checked] == [
        ("draw-weight", ("bow.draw_weight", "bow.draw_weight_basis"))
    ]


def test_conformance():
    spoke = testing.conform(PLUGIN)
    assert all(spoke.values()), spoke
