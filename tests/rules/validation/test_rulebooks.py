"""What the core says of competition and of bow makers' tests, against the printed figures."""

from __future__ import annotations

import pytest

from drawmark.fitting import limits
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting, Shaft
from drawmark.fitting.sources import SOURCES
from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE
from drawmark.rules.evaluate import evaluate
from rules.fittings import core_ruleset

CORE = core_ruleset()


def findings(rule, kind="recurve", pounds=30, **more):
    """Give what one rule of the core finds on an arrow 31 in long at a draw of 28 in."""
    weight = {"draw_weight": pounds * POUND_FORCE, "draw_weight_basis": "own_draw"}
    fitting = Fitting(
        archer=Archer(
            draw_length=28 * INCH,
            draw_length_convention="standard",
            draw_control=more.pop("control", "none"),
        ),
        bow=Bow(kind=kind, **weight),
        arrow=Arrow(length=31 * INCH, **more),
    )
    return [placed.said for placed in evaluate(fitting, CORE).findings if placed.rule == rule]


@pytest.mark.parametrize(
    ("millimetres", "thicker"), [(9.2, False), (9.3, False), (9.31, True), (9.4, True)]
)
def test_shaft_diameter(millimetres, thicker):
    """At most 9.3 mm in World Archery divisions: read.

    Archery Canada's interpretation of Book 3 chapter 11 and Book 4 chapter 22.
    """
    found = findings("shaft-diameter", shaft=Shaft(outside_diameter=millimetres / 1000))
    assert bool(found) == thicker
    for one in found:
        assert one.severity == "note"
        assert f"{1000 * one.limit.value:.1f}" == "9.3"
        assert SOURCES[one.source].mark == "read"


def test_draw_check_indicator_in_barebow():
    """Not allowed in barebow: secondary (Proc IMechE P, doi 10.1177/17543371231213420)."""
    (found,) = findings("clicker-in-barebow", kind="barebow", control="clicker")
    assert found.severity == "note"
    assert SOURCES[found.source].mark == "secondary"
    assert "10.1177/17543371231213420" in SOURCES[found.source].text


def test_draw_check_indicator_in_recurve():
    """One is allowed in recurve: World Archery rulebook, Book 3, 11.1.4, read."""
    assert not findings("clicker-in-barebow", kind="recurve", control="clicker")


def test_rating_mass_in_both_units():
    """5 grains a pound of peak draw force, 0.073 g/N: ASTM F1544-11, read.

    A condition of a speed test and no safety limit.
    """
    assert f"{limits.ARROW_MASS_STOP / (GRAIN / POUND_FORCE):.0f}" == "5"
    assert f"{1000 * limits.ARROW_MASS_STOP:.3f}" == "0.073"


@pytest.mark.parametrize(
    ("grains", "lighter"), [(349.9, True), (350, False), (350.1, False), (540, False)]
)
def test_rating_mass_of_a_bow(grains, lighter):
    """70 lb, 350 grains: ASTM F1544-11, read; the answer says what kind of figure it is."""
    found = findings("arrow-mass", kind="compound", pounds=70, mass=grains * GRAIN)
    assert bool(found) == lighter
    for one in found:
        assert f"{one.limit.value / GRAIN:.0f}" == "350"
        assert "speed rating and not a safety limit" in one.message
        assert SOURCES[one.source].mark == "read"
