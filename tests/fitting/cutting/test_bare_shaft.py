"""The bare shaft's coordinate, and how short an arrow can be built."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from drawmark.fitting import limits
from drawmark.fitting.cutting.bare_shaft import coordinates_of, shortest_cut
from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.arrow_validation import faults_of
from drawmark.fitting.mechanics.spine import log_equivalent_spine
from drawmark.fitting.model import (
    Arrow,
    Fletching,
    Insert,
    Nock,
    Point,
    Shaft,
    Station,
    Wrap,
)

ARROW = Arrow(
    length=0.75,
    shaft=Shaft(static_spine=5.0, mass_per_length=0.008),
    point=Point(mass=0.006),
    nock=Nock(mass=0.0006, projection=0.01),
    fletching=Fletching(mass=0.0008, rear_edge=0.03, length=0.05),
)
TAPER = tuple(
    Station(position=place, relative_stiffness=stiffness, relative_mass=mass)
    for place, stiffness, mass in ((0.0, 0.8, 0.9), (0.4, 1.0, 1.0), (0.74, 0.7, 0.8))
)
TAPERED = dataclasses.replace(ARROW, shaft=dataclasses.replace(ARROW.shaft, stations=TAPER))


def with_parts(**parts):
    return dataclasses.replace(ARROW, **parts)


@pytest.mark.parametrize(
    ("arrow", "shortest"),
    [
        pytest.param(ARROW, 0.08, id="vanes"),
        pytest.param(with_parts(point=Point(mass=0.006, shank_length=0.10)), 0.11, id="shank"),
        pytest.param(with_parts(point=Point(mass=0.006, sleeve_length=0.12)), 0.13, id="collar"),
        pytest.param(with_parts(point=Point(mass=0.006, centre=-0.14)), 0.15, id="centre"),
        pytest.param(with_parts(insert=Insert(mass=0.001, length=0.2)), 0.21, id="insert"),
        pytest.param(with_parts(wrap=Wrap(mass=0.001, length=0.3)), 0.31, id="wrap"),
        pytest.param(Arrow(length=0.7), limits.SMALLEST_STEP, id="nothing known"),
    ],
)
def test_shortest_that_can_be_built(arrow, shortest):
    assert shortest_cut(arrow) == pytest.approx(shortest)
    assert faults_of(cut(arrow, shortest)) == []


def test_shorter_cannot_be_built():
    assert faults_of(cut(ARROW, shortest_cut(ARROW) - 0.001))


def test_coordinate_is_that_of_the_shaft_without_vanes():
    vibration, launch = coordinates_of(ARROW, [0.75, 0.77])
    bare = dataclasses.replace(ARROW, fletching=None)
    expected = log_equivalent_spine(bare, vibration.lengths)
    assert (vibration.name, launch.name) == ("free_vibration", "launch")
    assert np.array_equal(vibration.log_spine, expected[0])
    assert np.array_equal(launch.log_spine, expected[1])


@pytest.mark.parametrize("arrow", [ARROW, TAPERED], ids=["uniform", "tapered"])
@pytest.mark.parametrize("end", ["front", "rear"])
@pytest.mark.parametrize("shot", [[], [0.77], [0.79, 0.77]])
def test_every_length_considered_lies_within(arrow, end, shot):
    lengths = [*shot, 0.75]
    for coordinate in coordinates_of(arrow, lengths, end):
        assert coordinate.lengths[0] <= min(lengths) - limits.IDEAL_REACH_BELOW + 1e-9
        assert coordinate.lengths[-1] >= max(lengths) + limits.IDEAL_REACH_ABOVE - 1e-9


@pytest.mark.parametrize("end", ["front", "rear"])
def test_uniform_stations_are_a_uniform_shaft(end):
    flat = tuple(
        Station(position=place, relative_stiffness=1.0, relative_mass=1.0) for place in (0.0, 0.8)
    )
    stationed = dataclasses.replace(ARROW, shaft=dataclasses.replace(ARROW.shaft, stations=flat))
    plain = coordinates_of(ARROW, [0.75])
    for one, other in zip(plain, coordinates_of(stationed, [0.75], end), strict=True):
        within = np.linspace(0.62, 0.74, 7)
        rise = one.at(within) - one.at(0.70)
        assert other.at(within) - other.at(0.70) == pytest.approx(rise, abs=2e-3)


def test_slope_is_carried_on_below_what_can_be_built():
    full = with_parts(wrap=Wrap(mass=0.0, length=0.37))
    plain, carried = coordinates_of(ARROW, [0.45])[0], coordinates_of(full, [0.45])[0]
    assert carried.lengths[0] == pytest.approx(plain.lengths[0])
    assert carried.lengths[1] == pytest.approx(0.38)
    assert np.all(np.diff(carried.log_spine) > 0)


def test_shaft_that_cannot_be_cut_has_no_coordinate():
    full = dataclasses.replace(TAPERED, wrap=Wrap(mass=0.0, length=0.739))
    with pytest.raises(ValueError, match="nothing of the shaft"):
        coordinates_of(full, [0.75], "rear")
