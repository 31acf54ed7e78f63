"""Frequencies and nodes against published tables and independent programs."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_bvp
from scipy.optimize import brentq

from builders.model import BARRELLED, NECKED, STEPPED, unit_arrow
from builders.statics import stiffness_of
from drawmark.fitting.columns import Column
from drawmark.fitting.mechanics.arrow_parts import tube_length
from drawmark.fitting.mechanics.beam import End, natural_frequencies
from drawmark.fitting.mechanics.stations import profile_of
from drawmark.fitting.mechanics.tubes import Tubes, stack, tubes_of
from drawmark.fitting.model import Arrow

THOMSON_D = "Thomson, Theory of Vibration with Applications, appendix D, p. 510: read"
THOMSON_9 = "Thomson, Theory of Vibration with Applications, table 9.5-1, p. 283: read"
DELHI = "IIT Delhi virtual laboratory, vibration of beams: read"


def unit_tube(*lumps: tuple[float, float], elements: int = 30) -> Tubes:
    return stack([1.0], [1.0], [1.0], lumps=[lumps], elements=elements)


def squares(rear: End, front: End, *lumps: tuple[float, float], elements: int = 30) -> Column:
    """lambda^2 of the natural frequencies."""
    return np.asarray(
        natural_frequencies(unit_tube(*lumps, elements=elements), rear, front, 5)[0] * 2 * math.pi
    )


@pytest.mark.parametrize(
    ("rear", "front", "printed"),
    [
        ("free", "free", ("4.7300", "7.8532", "10.9956")),
        ("clamped", "clamped", ("4.7300", "7.8532", "10.9956")),
        ("clamped", "free", ("1.8751", "4.6941", "7.8548")),
        ("free", "clamped", ("1.8751", "4.6941", "7.8548")),
    ],
    ids=lambda value: value if isinstance(value, str) else THOMSON_D,
)
def test_roots_as_printed(rear: End, front: End, printed: tuple[str, ...]) -> None:
    roots = np.sqrt(squares(rear, front, elements=60)[: len(printed)])
    assert tuple(f"{root:.4f}" for root in roots) == printed


@pytest.mark.parametrize(
    ("rear", "front", "printed"),
    [
        ("free", "free", ("22.3733", "61.6728", "120.9034")),
        ("clamped", "clamped", ("22.3733", "61.6728", "120.9034")),
        ("clamped", "free", ("3.5160", "22.0345", "61.6972")),
    ],
    ids=lambda value: value if isinstance(value, str) else THOMSON_D,
)
def test_squared_roots_as_printed(rear: End, front: End, printed: tuple[str, ...]) -> None:
    found = squares(rear, front, elements=100)[: len(printed)]
    assert tuple(f"{square:.4f}" for square in found) == printed


@pytest.mark.parametrize(
    ("rear", "front"), [("pinned", "free"), ("free", "pinned")], ids=lambda value: value
)
def test_pinned_free(rear: End, front: End) -> None:
    """IIT Delhi virtual laboratory, vibration of beams: read.

    The second figure is cut off there, not rounded.
    """
    first, second = np.sqrt(squares(rear, front)[:2])
    assert f"{first:.4f}" == "3.9266"
    assert math.floor(second * 1e4) / 1e4 == 7.0685


@pytest.mark.parametrize(
    ("rear", "front", "decimals", "printed"),
    [
        ("pinned", "pinned", (2, 1), ("9.87", "39.5")),
        ("clamped", "pinned", (1, 1, 0), ("15.4", "50.0", "104")),
    ],
    ids=["simply supported", "clamped-hinged"],
)
def test_rounded_table(
    rear: End, front: End, decimals: tuple[int, ...], printed: tuple[str, ...]
) -> None:
    """Thomson, Theory of Vibration with Applications, table 9.5-1, p. 283: read.

    The last figure stands there as 104.0; it has three digits, since it is 104.2.
    """
    found = squares(rear, front)[: len(printed)]
    figures = zip(found, decimals, strict=True)
    assert tuple(f"{square:.{places}f}" for square, places in figures) == printed


def test_rounded_table_where_its_last_digit_is_off() -> None:
    """Thomson, table 9.5-1, p. 283: read. 88.9 stands there; 9 pi^2 is 88.83."""
    third = squares("pinned", "pinned")[2]
    assert f"{third:.1f}" == "88.8"
    assert third == pytest.approx(9 * math.pi**2, rel=1e-4)
    assert third == pytest.approx(88.9, abs=0.1)


@pytest.mark.parametrize(
    ("order", "elements", "printed"),
    [
        (0, 30, "1.557298"),
        (1, 60, "16.25009"),
        (2, 90, "50.89584"),
        (3, 90, "105.1983"),
        (4, 120, "179.2320"),
    ],
    ids=lambda value: str(value),
)
def test_tip_mass_equal_to_the_beam(order: int, elements: int, printed: str) -> None:
    """Mathematical Problems in Engineering 2017, 1568019, table 1: read."""
    decimals = len(printed.split(".")[1])
    found = squares("clamped", "free", (1.0, 1.0), elements=elements)[order]
    assert f"{found:.{decimals}f}" == printed


def test_tip_mass_a_fifth_of_the_beam() -> None:
    """Applied Sciences 2019, 9(15):2996, tables 1 and 2: read.

    The same beam without and with the mass, so only the ratios count.
    """
    without = np.array([19.63, 123.02, 344.45, 674.97, 1115.79])
    loaded = np.array([14.58, 101.64, 299.00, 604.02, 1018.48])
    found = squares("clamped", "free", (0.2, 1.0))[:5] / squares("clamped", "free")[:5]
    assert found == pytest.approx(loaded / without, rel=5e-4)


END_MASSES = [
    (0.0, 0.0, "4.730041"),
    (0.1, 0.0, "4.430268"),
    (0.2, 0.0, "4.292920"),
    (0.3, 0.0, "4.214438"),
    (0.5, 0.0, "4.128137"),
    (1.0, 0.0, "4.041832"),
    (0.4, 0.04, "4.031167"),
    (0.5, 0.05, "3.969937"),
    (0.5, 0.1, "3.865928"),
    (1.0, 1.0, "3.398799"),
]


@pytest.mark.parametrize(
    ("point", "nock", "root"),
    END_MASSES,
    ids=[f"point {row[0]}, nock {row[1]}" for row in END_MASSES],
)
def test_end_masses(point: float, nock: float, root: str) -> None:
    """Two independent programs that agree to 1e-6: derived.

    The first row stands in Thomson, appendix D, p. 510 (read). The last row catches a wrong sign
    of the frequency equation's last term.
    """
    tubes = tubes_of((unit_arrow(point, nock),), elements=50)
    found = math.sqrt(natural_frequencies(tubes)[0, 0] * 2 * math.pi)
    assert found == pytest.approx(float(root), abs=1e-6)


@pytest.mark.parametrize(
    ("point", "nock", "printed"),
    [(1e6, 0.0, "3.9266"), (1e6, 1e6, "3.1416")],
    ids=[f"pinned-free, {DELHI}", f"simply supported, {THOMSON_9}"],
)
def test_endless_masses_pin(point: float, nock: float, printed: str) -> None:
    tubes = tubes_of((unit_arrow(point, nock),), elements=30)
    assert f"{math.sqrt(natural_frequencies(tubes)[0, 0] * 2 * math.pi):.4f}" == printed


def frequency_equation(root: float, point: float, nock: float) -> float:
    sine, cosine = math.sin(root), math.cos(root)
    rising, falling = math.sinh(root), math.cosh(root)
    return (
        1
        - cosine * falling
        + (point + nock) * root * (sine * falling - cosine * rising)
        + 2 * point * nock * root**2 * sine * rising
    )


@given(point=st.floats(0.0, 5.0), nock=st.floats(0.0, 5.0))
@settings(max_examples=60)
def test_root_of_the_frequency_equation(point: float, nock: float) -> None:
    """Frequency equation of the free beam with end masses, by scipy.optimize: derived."""
    root = brentq(frequency_equation, math.pi - 1e-9, 4.74, args=(point, nock), xtol=1e-12)
    tubes = tubes_of((unit_arrow(point, nock),), elements=30)
    found = math.sqrt(natural_frequencies(tubes)[0, 0] * 2 * math.pi)
    assert found == pytest.approx(root, rel=1e-6)
    coarse = tubes_of((unit_arrow(point, nock),))
    assert natural_frequencies(coarse)[0, 0] == pytest.approx(root**2 / (2 * math.pi), rel=3e-5)


@pytest.mark.parametrize(
    "arrow", [BARRELLED, NECKED, STEPPED], ids=["barrelled", "necked", "stepped"]
)
def test_tapered_shafts_against_a_boundary_value_solver(arrow: Arrow) -> None:
    """Differential equation of the tapered arrow, by scipy.integrate.solve_bvp: derived."""
    assert arrow.shaft is not None
    assert arrow.shaft.stations is not None
    profile = profile_of(arrow.shaft.stations)
    length = float(tube_length(arrow))
    stiffness = float(stiffness_of(arrow))
    density = float(arrow.shaft.mass_per_length or 0.0)
    point = float(arrow.point.mass or 0.0) if arrow.point else 0.0
    nock = float(arrow.nock.mass or 0.0) if arrow.nock else 0.0

    def slope(x: Column, y: Column, p: Column) -> Column:
        bend = y[2] / profile.stiffness_at(x * length)
        load = p[0] * profile.mass_at(x * length) * y[0]
        return np.vstack((y[1], bend, y[3], load))

    def ends(rear: Column, front: Column, p: Column) -> Column:
        shaft = density * length
        return np.array(
            [
                rear[0] - 1,
                rear[2],
                front[2],
                rear[3] - p[0] * nock / shaft * rear[0],
                front[3] + p[0] * point / shaft * front[0],
            ]
        )

    mesh = np.union1d(np.linspace(0, 1, 41), profile.position / length)
    mesh = mesh[mesh <= 1]
    guess = np.vstack(
        (1 - 4.4 * np.sin(np.pi * mesh) * 0.5 - 0.4 * mesh, -6 * np.cos(np.pi * mesh),
         9 * np.sin(np.pi * mesh), 9 * np.cos(np.pi * mesh))
    )  # fmt: skip
    solved = solve_bvp(slope, ends, mesh, guess, p=[250.0], tol=1e-8, max_nodes=20000)
    assert solved.success
    assert np.count_nonzero(np.diff(np.sign(solved.y[0]))) == 2
    expected = math.sqrt(solved.p[0] * stiffness / (density * length**4)) / (2 * math.pi)
    assert natural_frequencies(tubes_of((arrow,)))[0, 0] == pytest.approx(expected, rel=2e-4)
    fine = natural_frequencies(tubes_of((arrow,), elements=60))[0, 0]
    assert fine == pytest.approx(expected, rel=5e-5)
