"""Buckling under a push against handbooks, closed forms and independent programs.

Not held to anything: draw weight over critical launch force of usual pairs of bow and arrow (1.0
to 1.7, derived; 2.35 and 3.3 for shafts far too weak), and what a very heavy point does to a 600
shaft (738 by free vibration, 959 by launch force, derived). Lengths and masses behind those
figures are not stated, so they cannot be computed again.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from scipy.optimize import brentq
from scipy.special import jv

from builders.model import BARRELLED, NECKED, STEPPED, tapered, unit_arrow
from builders.statics import stiffness_of
from drawmark.fitting.columns import Column
from drawmark.fitting.mechanics.arrow_parts import cut, parts_of, tube_length
from drawmark.fitting.mechanics.beam import End, buckling_forces
from drawmark.fitting.mechanics.launch import critical_launch_force
from drawmark.fitting.mechanics.stations import profile_of
from drawmark.fitting.mechanics.tubes import stack, tubes_of
from drawmark.fitting.model import Arrow, Nock, Point, Shaft
from drawmark.fitting.units import GRAIN, INCH, UNITS

EULER = "Euler column, any handbook of mechanics: derived"


@pytest.mark.parametrize(
    ("rear", "front", "expected"),
    [
        ("pinned", "pinned", math.pi**2),
        ("clamped", "free", math.pi**2 / 4),
        ("clamped", "clamped", 4 * math.pi**2),
    ],
    ids=lambda value: value if isinstance(value, str) else EULER,
)
def test_massless_columns(rear: End, front: End, expected: float) -> None:
    tubes = stack([1.0], [1.0], [0.0], lumps=[[(1.0, 1.0)]], elements=40)
    assert buckling_forces(tubes, rear, front)[0] == pytest.approx(expected, rel=1e-6)


def test_all_mass_at_the_point() -> None:
    """Euler column, any handbook of mechanics: derived."""
    assert critical_launch_force(unit_arrow(1e9, 0.0)) == pytest.approx(math.pi**2, rel=1e-8)


@pytest.mark.parametrize("arm", [0.01, 0.05, 0.1])
def test_all_mass_ahead_of_the_shaft(arm: float) -> None:
    """Euler column pushed against a rigid arm that turns with its end: derived.

    The pins answer the arm's moment, so that tan k = -k a / (1 - a) with k^2 = P L^2 / (E I).
    """
    root = brentq(lambda k: (1 - arm) * math.sin(k) + k * arm * math.cos(k), 2.0, math.pi)
    arrow = unit_arrow(1e9, 0.0)
    arrow = dataclasses.replace(arrow, point=Point(mass=1e9, centre=arm))
    assert critical_launch_force(arrow) == pytest.approx(root**2, rel=3e-4)
    assert buckling_forces(tubes_of((arrow,), elements=40))[0] == pytest.approx(root**2, rel=1e-6)


@pytest.mark.parametrize("behind", [0.01, 0.05, 0.1])
def test_all_mass_at_the_point_of_an_arrow_with_a_nock(behind: float) -> None:
    """Euler column with a rigid piece at its pushed end: derived, any handbook of mechanics.

    The line of the push runs through both pins, so that tan k = -k r with k^2 = P T^2 / (E I).
    """
    root = brentq(lambda k: math.sin(k) + k * behind * math.cos(k), 2.0, math.pi)
    arrow = dataclasses.replace(
        unit_arrow(1e9, 0.0), length=1 + behind, nock=Nock(mass=0.0, projection=behind)
    )
    assert critical_launch_force(arrow) == pytest.approx(root**2, rel=2e-4)
    assert buckling_forces(tubes_of((arrow,), elements=40))[0] == pytest.approx(root**2, rel=1e-6)


def test_clamped_free_under_its_own_weight() -> None:
    """Greenhill 1881, 7.8373; Timoshenko and Gere, Theory of Elastic Stability: from memory."""
    found = buckling_forces(stack([1.0], [1.0], [1.0], elements=30), "clamped", "free")[0]
    assert f"{found:.4f}" == "7.8373"


def test_pinned_under_its_own_weight() -> None:
    """Timoshenko and Gere, Theory of Elastic Stability, 18.6: from memory; 18.5687 derived."""
    assert f"{critical_launch_force(unit_arrow(0.0, 0.0)):.1f}" == "18.6"
    assert f"{critical_launch_force(unit_arrow(0.0, 0.0)):.4f}" == "18.5687"
    assert f"{buckling_forces(stack([1.0], [1.0], [1.0], elements=30))[0]:.4f}" == "18.5687"


def test_free_ends_under_their_own_weight() -> None:
    """Closed form of the Airy equation, derived: 9/4 j^2 with the first zero of J_(2/3)."""
    zero = brentq(lambda place: jv(2 / 3, place), 3.0, 3.7, xtol=1e-13)
    expected = 9 / 4 * zero**2
    assert f"{expected:.5f}" == "25.63818"
    tubes = stack([1.0], [1.0], [1.0], elements=40)
    assert buckling_forces(tubes, "pinned", "free")[0] == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("point", "nock", "printed"),
    [
        (0.2, 0.0, "16.374"),
        (0.5, 0.0, "14.562"),
        (1.0, 0.0, "13.062"),
        (0.5, 0.05, "15.048"),
        (0.5, 0.10, "15.533"),
        (1.0, 1.0, "19.593"),
    ],
    ids=lambda value: str(value),
)
def test_end_masses(point: float, nock: float, printed: str) -> None:
    """An independent program of finite elements: derived."""
    arrow = unit_arrow(point, nock)
    assert f"{critical_launch_force(arrow):.3f}" == printed
    assert f"{buckling_forces(tubes_of((arrow,), elements=40))[0]:.3f}" == printed


@pytest.mark.parametrize("projection", [0.0, 0.012, 0.028], ids=lambda value: f"nock {value}")
@pytest.mark.parametrize(
    "arrow", [BARRELLED, NECKED, STEPPED], ids=["barrelled", "necked", "stepped"]
)
def test_tapered_shafts_against_a_boundary_value_solver(arrow: Arrow, projection: float) -> None:
    """Differential equation of the pushed tapered arrow, scipy.integrate.solve_bvp: derived.

    The nock turns with the shaft's rear end; the bottom of its slot stays on the string, and the
    moment grows along it from nothing there.
    """
    assert arrow.nock is not None
    arrow = dataclasses.replace(arrow, nock=dataclasses.replace(arrow.nock, projection=projection))
    assert arrow.shaft is not None
    assert arrow.shaft.stations is not None
    profile = profile_of(arrow.shaft.stations)
    length, stiffness = float(tube_length(arrow)), float(stiffness_of(arrow))
    whole = sum(float(part.mass) for part in parts_of(arrow))
    density = float(arrow.shaft.mass_per_length or 0.0)
    point = next(float(part.mass) for part in parts_of(arrow) if part.name == "point")
    nock = next(float(part.mass) for part in parts_of(arrow) if part.name == "nock")
    behind = projection / length

    def slope(x: Column, y: Column, p: Column) -> Column:
        """Deflection, slope, moment and share of the mass ahead, over the tube's length."""
        bend = y[2] / profile.stiffness_at(x * length)
        loss = -density * length / whole * profile.mass_at(x * length)
        return np.vstack((y[1], bend, p[1] - p[0] * y[3] * y[1], loss))

    def ends(rear: Column, front: Column, p: Column) -> Column:
        growth = p[1] - p[0] * (1 - nock / whole) * rear[1]
        return np.array(
            [
                rear[0] - behind * rear[1],
                front[0],
                rear[2] - behind * growth,
                front[2],
                rear[1] - 1,
                front[3] - point / whole,
            ]
        )

    # Rounded, so that a station at a place of the mesh is that place.
    mesh = np.unique(np.round([*np.linspace(0, 1, 41), *profile.position / length], 12))
    mesh = mesh[mesh <= 1]
    guess = np.vstack(
        (
            np.sin(np.pi * mesh) / np.pi,
            np.cos(np.pi * mesh),
            -3 * np.sin(np.pi * mesh),
            1 - mesh / 2,
        )
    )
    solved = solve_bvp(slope, ends, mesh, guess, p=[14.0, 0.0], tol=1e-8, max_nodes=20000)
    assert solved.success
    assert np.all(solved.y[0][1:-1] > 0)
    expected = solved.p[0] * stiffness / length**2
    assert buckling_forces(tubes_of((arrow,)))[0] == pytest.approx(expected, rel=2e-4)
    assert critical_launch_force(arrow) == buckling_forces(tubes_of((arrow,)))[0]


AHEAD = Arrow(
    length=30 * INCH,
    shaft=Shaft(static_spine=float(UNITS["astm"].to_si(600.0)), mass_per_length=7 * GRAIN / INCH),
    point=Point(mass=100 * GRAIN, centre=2 * INCH),
    nock=Nock(mass=8 * GRAIN),
)


@pytest.mark.parametrize("projection", [0.0, 0.012, 0.028, 0.06], ids=lambda value: f"nock {value}")
@pytest.mark.parametrize("ahead", [0.0, 0.25, 1.0, 2.0], ids=lambda value: f"{value:g} in ahead")
def test_rigid_ends_against_a_boundary_value_solver(ahead: float, projection: float) -> None:
    """The pushed arrow with point and nock on rigid arms, by scipy.integrate.solve_bvp: derived.

    At the front the point's share of the push, off the line by the arm times the slope, bends
    the shaft. At the rear the moment grows along the nock from nothing at the bottom of its slot.
    """
    length, arm = 30 * INCH - projection, ahead * INCH
    shaft, point, nock = 7 * GRAIN / INCH * length, 100 * GRAIN, 8 * GRAIN
    whole, behind = shaft + point + nock, projection / length

    def slope(x: Column, y: Column, p: Column) -> Column:
        """Deflection, slope and moment over the tube's length."""
        share = (point + shaft * (1 - x)) / whole
        return np.vstack((y[1], y[2], p[1] - p[0] * share * y[1]))

    def ends(rear: Column, front: Column, p: Column) -> Column:
        bend = p[0] * point / whole * arm / length * front[1]
        growth = p[1] - p[0] * (1 - nock / whole) * rear[1]
        return np.array(
            [
                rear[0] - behind * rear[1],
                front[0],
                rear[2] - behind * growth,
                front[2] - bend,
                rear[1] - 1,
            ]
        )

    mesh = np.linspace(0, 1, 41)
    guess = np.vstack(
        (np.sin(np.pi * mesh) / np.pi, np.cos(np.pi * mesh), -3 * np.sin(np.pi * mesh))
    )
    solved = solve_bvp(slope, ends, mesh, guess, p=[14.0, 0.0], tol=1e-9, max_nodes=20000)
    assert solved.success
    assert np.all(solved.y[0][1:-1] > 0)
    expected = solved.p[0] * float(UNITS["astm"].to_si(600.0)) / length**2
    arrow = dataclasses.replace(
        AHEAD, point=Point(mass=point, centre=arm), nock=Nock(mass=nock, projection=projection)
    )
    # What twelve sine functions leave out grows with the nock.
    within = 1e-5 if projection == 0.0 else 1e-4
    assert critical_launch_force(arrow) == pytest.approx(expected, rel=within)
    assert buckling_forces(tubes_of((arrow,)))[0] == pytest.approx(expected, rel=2e-5)


def test_a_point_two_inches_ahead() -> None:
    """An independent program, a Ritz sum of Legendre polynomials: derived."""
    assert critical_launch_force(AHEAD) == pytest.approx(104.0904, rel=5e-6)


@pytest.mark.parametrize(("length", "expected"), [(0.762, 252.785), (0.712, 129.693)])
def test_the_push_falls_where_a_heavy_rear_is_cut_away(length: float, expected: float) -> None:
    """An independent program, a Ritz sum of Legendre polynomials: derived.

    Less mass behind needs less push for the acceleration under which the light part buckles.
    """
    arrow = tapered((0.0, 1, 20), (0.05, 1, 20), (0.051, 1, 0.3), (0.762, 1, 0.3))
    found = critical_launch_force(cut(arrow, length, "rear"))
    assert found == pytest.approx(expected, rel=2e-5)
