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
    weight = {
        "draw_weight": pounds * POUND_FORCE,
        "draw_weight_basis": "own_draw",
        "minimum_arrow_mass": more.pop("least", None),
    }
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
    stops = [one for one in found if one.severity == "stop"]
    assert bool(stops) == lighter
    for one in stops:
        assert f"{one.limit.value / GRAIN:.0f}" == "350"
        assert "speed test, not a safety limit of its own" in one.message
        assert SOURCES[one.source].mark == "read"


@pytest.mark.parametrize(
    ("kind", "pounds", "grains", "light"),
    [
        pytest.param("recurve", 40, 239, True, id="just under 6 a pound"),
        pytest.param("recurve", 40, 240, False, id="6 a pound"),
        pytest.param("compound", 60, 301, True, id="a speed shaft on a compound"),
        pytest.param("compound", 60, 420, False, id="7 a pound"),
        pytest.param("longbow", 40, 230, True, id="a longbow is told of it once"),
    ],
)
def test_light_arrows(kind, pounds, grains, light):
    """A coach would say: look up what your bow's maker allows, it is bow and warranty at stake.

    6 grains a pound: common practice, no source.
    """
    found = findings("arrow-mass", kind=kind, pounds=pounds, mass=grains * GRAIN)
    assert [one.severity for one in found] == ["caution"] * light
    for one in found:
        assert one.limit.value == pytest.approx(6 * pounds * GRAIN)
        assert all(word in one.message for word in ("limbs", "warranty", "maker"))
        assert SOURCES[one.source].mark == "practice"


def test_a_light_arrow_that_the_maker_allows():
    """The bow's maker decides: where that limit is stated and kept, nothing is doubtful."""
    assert not findings("arrow-mass", pounds=40, mass=230 * GRAIN, least=220 * GRAIN)
    (stop,) = findings("maker-arrow-mass", pounds=40, mass=230 * GRAIN, least=235 * GRAIN)
    assert stop.severity == "stop"
