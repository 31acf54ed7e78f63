"""A whole club in time: limits far above what a quiet machine takes, in processor time."""

import time

import numpy as np
import pytest

from drawmark.fitting.kit.assignments import assign_sets
from drawmark.fitting.kit.lengths import choose_lengths
from drawmark.fitting.units import INCH

CLUB = 500
MEMBERS = 2000


def measure(work, *args, **options):
    began = time.process_time()
    result = work(*args, **options)
    return result, time.process_time() - began


@pytest.mark.parametrize("capacity", [1, 4, CLUB])
@pytest.mark.parametrize("grid", [1e-6, INCH / 4, INCH], ids=["fine", "quarters", "whole inches"])
def test_five_hundred_archers_and_sets(grid, capacity):
    random = np.random.default_rng(7)
    needs = np.round(random.uniform(24, 31, CLUB) * INCH / grid) * grid
    lengths = np.round(random.uniform(25, 32, CLUB) * INCH / grid) * grid
    margin = lengths - needs[:, None]
    allowed = margin >= 0
    found, seconds = measure(
        assign_sets,
        allowed=allowed,
        in_window=allowed & (margin <= INCH),
        margin=margin,
        launch_load=random.uniform(0.9, 2.2, (CLUB, CLUB)),
        capacity=np.full(CLUB, capacity),
    )
    assert found.equipped > 0.9 * CLUB
    assert seconds < 5


def test_everyone_alike():
    alike = np.ones((CLUB, CLUB), dtype=bool)
    found, seconds = measure(
        assign_sets,
        allowed=alike,
        in_window=alike,
        margin=alike * 0.02,
        launch_load=alike * 1.3,
        capacity=np.ones(CLUB, dtype=np.int64),
    )
    assert found.set_of == tuple(range(CLUB))
    assert seconds < 5


@pytest.mark.parametrize("bound", [np.inf, INCH], ids=["unbounded", "bounded"])
def test_two_thousand_members_and_fifty_lengths(bound):
    random = np.random.default_rng(7)
    needs = random.uniform(22, 32, MEMBERS) * INCH
    arrows = random.integers(3, 13, MEMBERS)
    plan, seconds = measure(choose_lengths, needs, 50, longest=needs + bound, arrows=arrows)
    assert plan.waste is not None
    assert seconds < 0.5
