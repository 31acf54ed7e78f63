"""Length and point mass of a replacement: nothing on a fine grid acts more alike."""

from __future__ import annotations

import dataclasses
from random import Random

import numpy as np
import pytest

from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.comparison import measure_of
from drawmark.fitting.mechanics.matching import Bounds, Matcher
from drawmark.fitting.model import Arrow, Fletching, Insert, Nock, Point, Shaft, Station
from drawmark.fitting.units import GRAIN, INCH, UNITS

SIZE = 60
GRID = 41
PARTS = {
    "insert": Insert(mass=10 * GRAIN, length=0.02),
    "nock": Nock(mass=8 * GRAIN, projection=0.01),
    "fletching": Fletching(mass=12 * GRAIN, rear_edge=0.03, length=0.045),
}


def spine(figure):
    return float(UNITS["astm"].to_si(figure))


def situation(seed):
    rng = Random(seed)
    known = Arrow(
        length=rng.uniform(26, 31) * INCH,
        shaft=Shaft(
            static_spine=spine(rng.uniform(400, 900)),
            mass_per_length=rng.uniform(5, 9) * GRAIN / INCH,
        ),
        point=Point(mass=rng.uniform(60, 150) * GRAIN),
        **(PARTS if seed % 2 else {}),
    )
    shafts = Shaft(
        static_spine=np.array([spine(rng.uniform(350, 1000)) for _ in range(SIZE)]),
        mass_per_length=np.array([rng.uniform(4.5, 10) * GRAIN / INCH for _ in range(SIZE)]),
    )
    shortest = np.array([rng.uniform(24, 29) * INCH for _ in range(SIZE)])
    room = np.array([rng.uniform(0.2, 6) * INCH for _ in range(SIZE)])
    bounds = Bounds(
        shortest=shortest,
        longest=shortest + room,
        lightest=known.point.mass / 2,
        heaviest=known.point.mass * 2,
    )
    return known, shafts, bounds


def measure_for(known, shafts, times=1):
    """How the shafts act against the known arrow, the whole row of them several times."""
    row = Shaft(
        static_spine=np.tile(shafts.static_spine, times),
        mass_per_length=np.tile(shafts.mass_per_length, times),
    )
    return measure_of(known, dataclasses.replace(known, shaft=row))


def least_on_grid(known, shafts, bounds, masses, lengths=GRID):
    measure, least = measure_for(known, shafts, lengths), np.full(SIZE, np.inf)
    shares = np.linspace(0, 1, lengths)[:, None]
    length = (bounds.shortest + (bounds.longest - bounds.shortest) * shares).ravel()
    for mass in masses:
        differences = np.abs(measure(length, np.full(length.size, mass))).max(axis=0)
        least = np.minimum(least, differences.reshape(lengths, SIZE).min(axis=0))
    return least


@pytest.mark.parametrize("seed", range(8))
def test_nothing_on_a_grid_acts_more_alike(seed):
    known, shafts, bounds = situation(seed)
    best = Matcher(measure_for(known, shafts), bounds).best
    masses = np.linspace(bounds.lightest, bounds.heaviest, GRID)
    assert (best.difference <= least_on_grid(known, shafts, bounds, masses) + 1e-5).all()
    assert (best.length >= bounds.shortest - 1e-9).all()
    assert (best.length <= bounds.longest + 1e-9).all()
    assert (best.point_mass >= bounds.lightest * (1 - 1e-9)).all()
    assert (best.point_mass <= bounds.heaviest * (1 + 1e-9)).all()
    # Some are exact, so that the rows above are no mere bounds.
    assert best.difference.min() < 1e-6


@pytest.mark.parametrize("ends", [0, 1], ids=["from end to end", "between the ends"])
@pytest.mark.parametrize("seed", range(6))
def test_with_points_that_can_be_bought(seed, ends):
    known, shafts, bounds = situation(seed)
    masses = np.linspace(bounds.lightest, bounds.heaviest, 5 + seed)
    masses = masses[ends : masses.size - ends]
    points = np.repeat(masses[:, None], SIZE, axis=1)
    made = Matcher(measure_for(known, shafts), bounds).with_points(points, None)
    assert (made.difference <= least_on_grid(known, shafts, bounds, masses, 161) + 2e-4).all()
    assert np.isin(made.point_mass, masses).all()


@pytest.mark.parametrize("seed", range(3))
def test_lengths_are_rounded_up_within_the_bounds(seed):
    known, shafts, bounds = situation(seed)
    measure = measure_for(known, shafts)
    step = INCH / 8
    matcher = Matcher(measure, bounds)
    exact = matcher.best.length
    made = matcher.with_any_point(step)
    last = np.floor(bounds.longest / step + 1e-6) * step
    assert np.allclose(made.length, np.minimum(np.ceil(exact / step - 1e-4) * step, last))
    assert np.allclose(made.stiffer, measure(made.length, made.point_mass), atol=1e-6)


@pytest.mark.parametrize("step", [INCH / 8, INCH / 2])
@pytest.mark.parametrize("seed", range(8))
def test_no_other_point_is_better_at_the_rounded_length(seed, step):
    known, shafts, bounds = situation(seed)
    made = Matcher(measure_for(known, shafts), bounds).with_any_point(step)
    marked = np.floor(bounds.longest / step) >= np.ceil(bounds.shortest / step)
    masses = np.linspace(bounds.lightest, bounds.heaviest, 101)
    measure = measure_for(known, shafts, masses.size)
    differences = np.abs(measure(np.tile(made.length, masses.size), np.repeat(masses, SIZE)))
    least = differences.max(axis=0).reshape(masses.size, SIZE).min(axis=0)
    assert (made.difference <= least + 1e-3)[marked].all()


def test_the_same_shaft_is_its_own_replacement():
    known, _, _ = situation(1)
    shaft = Shaft(
        static_spine=np.full(2, known.shaft.static_spine),
        mass_per_length=np.full(2, known.shaft.mass_per_length),
    )
    measure = measure_of(known, dataclasses.replace(known, shaft=shaft))
    bounds = Bounds(
        shortest=np.full(2, 0.6),
        longest=np.full(2, 0.9),
        lightest=known.point.mass / 2,
        heaviest=known.point.mass * 2,
    )
    best = Matcher(measure, bounds).best
    assert best.difference == pytest.approx(0, abs=1e-9)
    assert best.length == pytest.approx(known.length, abs=1e-5)
    assert best.point_mass == pytest.approx(known.point.mass, rel=1e-3)


def test_a_tapered_shaft_that_is_uniform_gets_what_the_uniform_one_gets():
    known, _, _ = situation(2)
    shaft = Shaft(static_spine=spine(500), mass_per_length=7 * GRAIN / INCH)
    even = tuple(
        Station(position=place, relative_stiffness=1.0, relative_mass=1.0) for place in (0.0, 0.85)
    )
    tapered = dataclasses.replace(
        known, length=0.85, shaft=dataclasses.replace(shaft, stations=even)
    )
    bounds = Bounds(
        shortest=np.array([0.7]),
        longest=np.array([0.8]),
        lightest=known.point.mass / 2,
        heaviest=known.point.mass * 2,
    )
    uniform = Matcher(measure_of(known, dataclasses.replace(known, shaft=shaft)), bounds).best
    by_elements = Matcher(measure_of(known, [cut(tapered, 0.82)]), bounds).best
    assert by_elements.length == pytest.approx(uniform.length, abs=1e-5)
    assert by_elements.point_mass == pytest.approx(uniform.point_mass, rel=1e-3)
    assert by_elements.stiffer == pytest.approx(uniform.stiffer, abs=1e-4)
