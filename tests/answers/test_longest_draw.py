"""The longest safe draw allows for the spread that was measured."""

from __future__ import annotations

import dataclasses

import pytest

from drawmark.answers.context import Context
from drawmark.answers.longest_draw import find_longest
from drawmark.fitting.facts import facts_of
from drawmark.fitting.length import minimum_of
from drawmark.fitting.model import Archer, Arrow, Bow, ClickerRange, Fitting, Point
from drawmark.fitting.units import INCH
from drawmark.rules import registry, rulesets

BOW = Bow(
    kind="recurve",
    rest_position=0.25 * INCH,
    clicker_range=ClickerRange(near=1 * INCH, far=6 * INCH),
)
ARROW = Arrow(point=Point(exposed_length=0.75 * INCH))


@pytest.fixture(scope="module")
def context():
    found = registry.load()
    core = dataclasses.replace(
        found, plugins=tuple(one for one in found.plugins if one.name == "core")
    )
    chosen = rulesets.configure(core, None)
    return Context(ruleset=chosen.rulesets[chosen.default])


def draws(*inches):
    return tuple(one * INCH for one in inches)


@pytest.mark.parametrize("control", ["none", "settled", "clicker"])
@pytest.mark.parametrize(
    "shown",
    [
        pytest.param({"draw_length": 26.25 * INCH}, id="one draw"),
        pytest.param(
            {"draw_length": 26.25 * INCH, "draw_variation": 0.5 * INCH, "draw_count": 12},
            id="stated spread",
        ),
        pytest.param(
            {"draw_length": 26.25 * INCH, "draw_variation": 0.5 * INCH, "draw_count": 4},
            id="stated spread of few",
        ),
        pytest.param({"draws": draws(26, 26.5, 27.5)}, id="few draws"),
        pytest.param({"draws": draws(*(26, 26.5) * 6, 28.5)}, id="many draws"),
    ],
)
def test_draw_of_an_arrow_of_the_minimum_length_is_the_longest(control, shown, context):
    archer = Archer(draw_length_convention="to_pivot", draw_control=control, **shown)
    facts = facts_of(Fitting(archer=archer, bow=BOW, arrow=ARROW))
    arrow = dataclasses.replace(ARROW, length=float(minimum_of(facts)))
    assert not facts_of(Fitting(archer=archer, bow=BOW, arrow=arrow)).refuted
    longest = find_longest(archer, BOW, arrow, context)
    assert longest.draw == pytest.approx(facts.mean_draw, abs=2e-6)
