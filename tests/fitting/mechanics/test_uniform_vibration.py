"""Frequencies of uniform shafts by polynomials: those of the elements, in columns."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics import beam
from drawmark.fitting.mechanics.uniform_vibration import uniform_frequencies
from drawmark.fitting.model import Arrow, Fletching, Insert, Nock, Point, Shaft, Wrap

BARE = Arrow(
    length=0.74,
    shaft=Shaft(static_spine=4.3, mass_per_length=0.016),
    point=Point(mass=0.0065),
)


def test_a_beam_without_masses_has_the_eigenvalue_of_the_textbook():
    # free-free, 4.730041 / pi: the first root of cosh x cos x = 1, from any handbook of beams
    light = dataclasses.replace(BARE, point=Point(mass=0.0))
    wanted = 4.7300407**2 / (2 * math.pi * 0.74**2) * math.sqrt(4.3 / 0.016)
    assert uniform_frequencies(light)[0] == pytest.approx(wanted, rel=1e-7)


@pytest.mark.parametrize(
    ("parts", "within"),
    [
        ({}, 2e-5),
        ({"insert": Insert(mass=0.001)}, 2e-5),
        ({"insert": Insert(mass=0.002, length=0.03)}, 2e-5),
        ({"nock": Nock(mass=0.0006, projection=0.012)}, 2e-5),
        ({"fletching": Fletching(mass=0.0008, rear_edge=0.03, length=0.045)}, 2e-5),
        ({"wrap": Wrap(mass=0.002, length=0.15)}, 2e-5),
        ({"point": Point(mass=0.0065, centre=0.01)}, 2e-5),
        ({"point": Point(mass=0.0065, centre=-0.02)}, 1e-4),
    ],
    ids=str,
)
def test_the_same_as_by_elements(parts, within):
    arrow = dataclasses.replace(BARE, **parts)
    wanted = beam.first_bending_frequency(arrow)
    assert uniform_frequencies(arrow)[0] == pytest.approx(wanted, rel=within)


def test_a_column_is_its_items():
    lengths, masses = np.array([0.6, 0.74, 0.8]), np.array([0.004, 0.0065, 0.01])
    column = dataclasses.replace(BARE, length=lengths, point=Point(mass=masses))
    for at, found in enumerate(uniform_frequencies(column)):
        alone = dataclasses.replace(
            BARE, length=float(lengths[at]), point=Point(mass=float(masses[at]))
        )
        assert found == pytest.approx(uniform_frequencies(alone)[0], rel=1e-12)


def test_stiffness_is_needed():
    with pytest.raises(FittingError, match="static_spine"):
        uniform_frequencies(dataclasses.replace(BARE, shaft=Shaft(mass_per_length=0.016)))
