"""As many sets as possible: the same number as by trying everything, and never mixed."""

from __future__ import annotations

import itertools
import math
from functools import cache

import numpy as np
import pytest

from drawmark.fitting.kit.sorted_sets import find_incomplete, sort_into_sets


def alike(figures, tolerances, members):
    return (np.ptp(figures[list(members)], axis=0) <= tolerances * (1 + 1e-8)).all()


def most_by_trying(figures, tolerances, size):
    groups = [
        sum(1 << at for at in members)
        for members in itertools.combinations(range(len(figures)), size)
        if alike(figures, tolerances, members)
    ]

    @cache
    def most(used, first):
        return max(
            (
                1 + most(used | groups[at], at + 1)
                for at in range(first, len(groups))
                if not groups[at] & used
            ),
            default=0,
        )

    return most(0, 0)


@pytest.mark.parametrize("seed", range(40))
def test_small_boxes_by_trying_everything(seed):
    rng = np.random.default_rng(seed)
    count, kinds, size = rng.integers(4, 13), rng.integers(1, 5), rng.integers(2, 5)
    figures = np.round(rng.random((count, kinds)) * rng.choice([1, 2, 3]), 1)
    tolerances = np.full(kinds, 0.6)
    found = sort_into_sets(figures, tolerances, int(size))
    assert len(found.sets) == found.most == most_by_trying(figures, tolerances, int(size))
    check(found.sets, figures, tolerances, size)


def check(sets, figures, tolerances, size):
    members = [at for one in sets for at in one]
    assert len(set(members)) == len(members)
    assert all(len(one) == size and alike(figures, tolerances, one) for one in sets)


@pytest.mark.parametrize("count", [48, 300, 2000])
@pytest.mark.parametrize("size", [3, 6, 12])
def test_large_boxes_near_the_bound_and_the_same_each_time(count, size):
    rng = np.random.default_rng(count + size)
    figures = np.round(rng.normal(0, 2, (count, 2)), 3)
    tolerances = np.array([1.0, 1.5])
    found = sort_into_sets(figures, tolerances, size)
    check(found.sets, figures, tolerances, size)
    assert len(found.sets) <= found.most <= count // size
    assert found == sort_into_sets(figures, tolerances, size)
    if count == 2000:
        assert len(found.sets) >= 0.85 * found.most


def test_one_figure_alone_is_always_solved():
    rng = np.random.default_rng(4)
    found = sort_into_sets(rng.random((2000, 1)) * 300, np.array([1.0]), 6)
    assert len(found.sets) == found.most


@pytest.mark.parametrize(
    ("lengths", "size", "sets"),
    [
        ([0, 1, 2, 3], 2, [(0, 1), (2, 3)]),
        ([0, 2, 4, 6], 2, []),
        ([5, 5, 5], 3, [(0, 1, 2)]),
        ([5, 5], 3, []),
        ([], 2, []),
    ],
)
def test_by_hand(lengths, size, sets):
    figures = np.array(lengths, dtype=float).reshape(-1, 1)
    assert list(sort_into_sets(figures, np.array([1.0]), size).sets) == sets


def test_what_comes_near_to_a_set():
    figures = np.array([[0.0], [0.1], [0.2], [5.0], [9.0], [9.1]])
    found = find_incomplete(figures, np.array([1.0]), 4)
    assert found == ((0, 1, 2), (4, 5))
    assert find_incomplete(figures[:0], np.array([1.0]), 4) == ()


@pytest.mark.parametrize(
    ("figures", "tolerances", "size"),
    [([[math.nan]], [1.0], 2), ([[1.0]], [0.0], 2), ([[1.0]], [1.0, 1.0], 2), ([[1.0]], [1.0], 1)],
)
def test_what_is_refused(figures, tolerances, size):
    with pytest.raises(ValueError, match=r"figure|row"):
        sort_into_sets(np.array(figures), np.array(tolerances), size)
