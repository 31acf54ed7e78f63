"""Static spine, its scales and what a cut does, against handbook and trade figures."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.integrate import quad

from builders.model import BARRELLED, PLAIN, plain
from builders.statics import deflection_of, spine_of, stiffness_of
from drawmark.fitting.mechanics.arrow_parts import (
    cut,
    tube_length,
)
from drawmark.fitting.mechanics.point_mass import with_point_mass
from drawmark.fitting.mechanics.spine import states
from drawmark.fitting.mechanics.stations import profile_of
from drawmark.fitting.model import Fletching, Nock, Shaft, Station
from drawmark.fitting.units import (
    ASTM_LOAD,
    ASTM_SPAN,
    GRAIN,
    INCH,
    POUND_FORCE,
    UNITS,
    WOOD_LOAD,
    WOOD_SPAN,
)

ASTM, WOOD = UNITS["astm"], UNITS["wood-lb"]


@pytest.mark.parametrize("length", [28, 30, 34], ids=lambda inches: f"{inches} in")
@pytest.mark.parametrize("stiffness", [8.0, 5.0, 2.5], ids=lambda value: f"{value} N m^2")
def test_definition_of_static_spine(stiffness: float, length: int) -> None:
    """ASTM F2031-05 (2014), 1.2 and 2.1, read; reported withdrawn in 2023 (secondary).

    Deflection in inches, three-point load, mass at the middle of a fixed span, whatever the
    arrow's length. Span and load, 28 in and 1.94 lb, and the scale in thousandths: secondary.
    """
    shaft = Shaft(static_spine=stiffness, mass_per_length=0.01)
    spine = spine_of(plain(length=length * INCH, shaft=shaft))
    assert spine is not None
    span, load = 28 * 0.0254, 1.94 * 4.4482216152605

    def bending(place: float) -> float:
        """Work of a unit load at the middle, from one support."""
        return (load * place / 2) * (place / 2) / stiffness

    deflection = 2 * quad(bending, 0, span / 2)[0] / 0.0254
    assert ASTM.from_si(spine) == pytest.approx(1000 * deflection, rel=1e-9)


@pytest.mark.parametrize(
    ("spine", "printed"),
    [
        (300, "8.4873"),
        (400, "6.3654"),
        (500, "5.0924"),
        (600, "4.2436"),
        (700, "3.6374"),
        (1000, "2.5462"),
    ],
)
def test_stiffness_from_spine(spine: float, printed: str) -> None:
    """P L^3 / (48 E I), any handbook of mechanics, 1.94 lb over 28 in (secondary): derived."""
    assert f"{ASTM.to_si(float(spine)):.4f}" == printed
    assert f"{2546.176 / spine:.4f}" == printed


def test_half_an_inch_is_spine_500() -> None:
    """28 in, 1.94 lb, 0.500 in is spine 500: secondary."""
    stiffness = ASTM_LOAD * ASTM_SPAN**3 / (48 * 0.500 * INCH)
    assert f"{ASTM.from_si(stiffness):.1f}" == "500.0"
    whole = plain(length=28 * INCH)
    assert f"{deflection_of(whole) / INCH:.3f}" == "0.500"


@pytest.mark.parametrize(
    ("deflection", "pounds"), [(0.520, 50), (0.26, 100), (1.3, 20), (0.87, 30), (0.24, 110)]
)
def test_wooden_spine(deflection: float, pounds: int) -> None:
    """26 over the deflection in inches, 26 in span, 2 lb: secondary, the printed digits.

    The last two are rounded there: 29.9 and 108.3.
    """
    stiffness = WOOD_LOAD * WOOD_SPAN**3 / (48 * deflection * INCH)
    assert WOOD.from_si(stiffness) == pytest.approx(pounds, rel=0.016)
    assert WOOD.from_si(stiffness) == pytest.approx(26 / deflection, rel=1e-12)


def test_factor_between_the_tests() -> None:
    """0.825, and 500 gives 413: secondary; the exact factor is derived."""
    stiffness = ASTM.to_si(500.0)
    wooden = WOOD_LOAD * WOOD_SPAN**3 / (48 * stiffness) / INCH * 1000
    assert f"{wooden:.0f}" == "413"
    assert f"{wooden / 500:.3f}" == "0.825"
    assert f"{wooden / 500:.7f}" == "0.8254185"


def test_a_cut_leaves_the_spine_of_a_uniform_shaft() -> None:
    """The span is fixed: derived from the definition of the test."""
    assert spine_of(cut(PLAIN, 27 * INCH)) == spine_of(PLAIN)
    shorter = deflection_of(cut(PLAIN, 27 * INCH)) / deflection_of(PLAIN)
    assert shorter == pytest.approx((27 / 30) ** 3, rel=1e-12)


def test_an_inch_shorter_by_both_measures() -> None:
    """500, 30 in, 8.4 gr/in, 120 gr point, 10 gr nock: 440, 469; derived, another program."""
    vanes = Fletching(mass=20 * GRAIN, rear_edge=0.030, length=0.060)
    fletched = plain(fletching=vanes)
    (short,) = states(fletched, [cut(fletched, 29 * INCH)])
    assert f"{ASTM.from_si(short.equivalent_by_vibration):.0f}" == "440"
    assert f"{ASTM.from_si(short.equivalent_by_launch):.0f}" == "469"


def test_a_heavier_point_by_both_measures() -> None:
    """The same arrow with a point 25 gr heavier, derived elsewhere.

    That program's row prints one figure, 515, for both measures. Launch force rounds to it;
    free vibration gives 514.0 here, one below, so that only within 1 is it confirmed.
    """
    (heavy,) = states(PLAIN, [with_point_mass(PLAIN, 145 * GRAIN)])
    assert f"{ASTM.from_si(heavy.equivalent_by_launch):.0f}" == "515"
    assert ASTM.from_si(heavy.equivalent_by_vibration) == pytest.approx(515, abs=1.0)


def test_trade_rule_beside_a_cut() -> None:
    """About 5 lbf of draw weight an inch: common practice, no source."""
    (short,) = states(PLAIN, [cut(PLAIN, 29 * INCH)])
    assert short.draw_weight_shift / POUND_FORCE == pytest.approx(5.0, rel=1e-9)


@pytest.mark.parametrize("projection", [0.0, 0.028], ids=lambda value: f"{value:g} m")
def test_tapered_deflection_against_quadrature(projection: float) -> None:
    """Castigliano's integral of the centre-loaded beam, by scipy.integrate.quad: derived.

    Behind the shaft's rear end the span goes on as the shaft ends.
    """
    barrelled = plain(
        shaft=BARRELLED.shaft, length=30 * INCH + projection, nock=Nock(projection=projection)
    )
    assert BARRELLED.shaft is not None
    assert BARRELLED.shaft.stations is not None
    profile = profile_of(BARRELLED.shaft.stations)
    tube, reference = float(tube_length(barrelled)), float(stiffness_of(barrelled))

    def deflection(start: float, end: float) -> float:
        middle, span = (start + end) / 2, end - start

        def density(place: float) -> float:
            moment = (span / 2 - abs(place - middle)) / 2
            return moment**2 / float(profile.stiffness_at(np.array(place)))

        breaks = sorted({middle, *(p for p in profile.position if start < p < end)})
        area, _ = quad(density, start, end, points=breaks, epsabs=0, epsrel=1e-12, limit=200)
        return ASTM_LOAD * area / reference

    rest = (tube - ASTM_SPAN) / 2
    assert deflection(rest, tube - rest) / INCH == pytest.approx(0.500, rel=1e-9)
    expected = deflection(-projection, tube)
    assert deflection_of(barrelled) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("end", ["front", "rear"])
def test_a_steep_taper_against_quadrature(end: str) -> None:
    """Stiffness twenty to one along one segment, E I a line: scipy.integrate.quad, derived."""
    ends = (20.0, 1.0) if end == "front" else (1.0, 20.0)
    stations = tuple(
        Station(position=place, relative_stiffness=value, relative_mass=1.0)
        for place, value in zip((0.0, 0.8), ends, strict=True)
    )
    arrow = dataclasses.replace(
        PLAIN,
        length=0.8,
        shaft=Shaft(static_spine=4.0, mass_per_length=0.02, stations=stations),
    )
    rest = (0.8 - ASTM_SPAN) / 2

    def density(place: float) -> float:
        value = ends[0] + (ends[1] - ends[0]) * place / 0.8
        return min(place - rest, 0.8 - rest - place) ** 2 / 4 / value

    area, _ = quad(density, rest, 0.8 - rest, points=[0.4], epsabs=0, epsrel=1e-12)
    assert stiffness_of(arrow) / 4.0 == pytest.approx(48 / ASTM_SPAN**3 * area, rel=1e-9)
