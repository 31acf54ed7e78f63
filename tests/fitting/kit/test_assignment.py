"""Each criterion in its order, against every possible assignment of small clubs."""

import itertools
import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawmark.fitting.kit.assignment import assign_sets
from drawmark.fitting.limits import LAUNCH_LOAD_MIDDLE, LAUNCH_LOAD_STEP, TOLERANCE

NAN = math.nan


def assign(allowed, margin, *, passes=None, in_window=None, launch_load=None, capacity=None):
    allowed = np.array(allowed, dtype=bool)
    return assign_sets(
        allowed=allowed,
        passes=np.zeros(allowed.shape, dtype=bool)
        if passes is None
        else np.array(passes, dtype=bool),
        in_window=np.zeros(allowed.shape, dtype=bool)
        if in_window is None
        else np.array(in_window, dtype=bool),
        margin=np.array(margin, dtype=float),
        launch_load=np.full(allowed.shape, NAN)
        if launch_load is None
        else np.array(launch_load, dtype=float),
        capacity=np.ones(allowed.shape[1], dtype=np.int64)
        if capacity is None
        else np.array(capacity, dtype=np.int64),
    )


def try_everything(allowed, passes, in_window, margin, launch_load, capacity):
    """Judge every possible assignment by the criteria; the best, earliest places first."""
    archers, sets = allowed.shape
    distances = [
        abs(load - LAUNCH_LOAD_MIDDLE)
        for load, may in zip(launch_load.flat, allowed.flat, strict=True)
        if may and not math.isnan(load)
    ]
    worst = max(distances, default=0.0)

    def judge(places):
        pairs = [(archer, place) for archer, place in enumerate(places) if place < sets]
        loads = [launch_load[pair] for pair in pairs]
        off = sum(worst if math.isnan(x) else abs(x - LAUNCH_LOAD_MIDDLE) for x in loads)
        return (
            -len(pairs),
            -sum(bool(passes[pair]) for pair in pairs),
            -sum(bool(in_window[pair]) for pair in pairs),
            -round(min((margin[pair] for pair in pairs), default=0.0) / TOLERANCE),
            round(off / LAUNCH_LOAD_STEP),
            places,
        )

    choices = [[*np.flatnonzero(allowed[archer]).tolist(), sets] for archer in range(archers)]
    possible = (
        places
        for places in itertools.product(*choices)
        if all(places.count(place) <= capacity[place] for place in range(sets))
    )
    return tuple(None if place == sets else place for place in min(possible, key=judge))


@st.composite
def clubs(draw):
    archers, sets = draw(st.integers(1, 5)), draw(st.integers(1, 4))

    def matrix(elements):
        return np.array(
            draw(
                st.lists(
                    st.lists(elements, min_size=sets, max_size=sets),
                    min_size=archers,
                    max_size=archers,
                )
            )
        )

    loads = draw(
        st.sampled_from(
            [
                st.sampled_from([NAN, 1.0, 1.35, 1.7]),
                st.integers(0, 220_000).map(lambda steps: steps * LAUNCH_LOAD_STEP),
            ]
        )
    )
    return {
        "allowed": matrix(st.booleans()),
        "passes": matrix(st.booleans()),
        "in_window": matrix(st.booleans()),
        "margin": matrix(st.integers(0, draw(st.sampled_from([0, 2, 60]))).map(lambda m: m / 1e3)),
        "launch_load": matrix(loads).astype(float),
        "capacity": np.array(draw(st.lists(st.integers(0, 3), min_size=sets, max_size=sets))),
    }


@settings(max_examples=200)
@given(clubs())
def test_assignment_is_the_best_of_all(club):
    assert assign_sets(**club) == try_everything(**club)


@pytest.mark.parametrize(
    ("figures", "expected"),
    [
        pytest.param(
            {"allowed": [[1, 1], [1, 0]], "margin": [[0.09, 0.01], [0.09, 0.0]]},
            (1, 0),
            id="equipping both comes before a wide margin",
        ),
        pytest.param(
            {
                "allowed": [[1, 1], [1, 0]],
                "margin": [[0.02, 0.02], [0.02, 0.0]],
                "passes": [[1, 0], [0, 0]],
            },
            (1, 0),
            id="equipping both comes before a pass",
        ),
        pytest.param(
            {
                "allowed": [[1, 1], [1, 1]],
                "margin": [[0.02, 0.02], [0.02, 0.02]],
                "passes": [[0, 1], [0, 0]],
                "in_window": [[1, 0], [0, 1]],
            },
            (1, 0),
            id="one pass comes before two places in the window",
        ),
        pytest.param(
            {
                "allowed": [[1, 1], [1, 0]],
                "margin": [[0.02, 0.02], [0.02, 0.0]],
                "in_window": [[1, 0], [0, 0]],
            },
            (1, 0),
            id="equipping both comes before a place in the window",
        ),
        pytest.param(
            {
                "allowed": [[1, 1], [1, 1]],
                "margin": [[0.001, 0.05], [0.05, 0.001]],
                "in_window": [[1, 0], [0, 1]],
            },
            (0, 1),
            id="the window comes before the smallest margin",
        ),
        pytest.param(
            {
                "allowed": [[1, 1], [1, 1]],
                "margin": [[0.02, 0.03], [0.03, 0.02]],
                "launch_load": [[1.35, 2.0], [2.0, 1.35]],
            },
            (1, 0),
            id="the smallest margin comes before the launch load",
        ),
        pytest.param(
            {
                "allowed": [[1, 1], [1, 1]],
                "margin": [[0.02, 0.02], [0.02, 0.02]],
                "launch_load": [[1.0, 1.4], [1.3, 1.35]],
            },
            (1, 0),
            id="the launch loads nearest the middle",
        ),
        pytest.param(
            {
                "allowed": [[1, 1]],
                "margin": [[0.02, 0.02]],
                "launch_load": [[NAN, 1.7]],
            },
            (0,),
            id="an unknown load is as bad as the worst known, and then the earliest wins",
        ),
        pytest.param(
            {
                "allowed": [[1, 1, 1]],
                "margin": [[0.02, 0.02, 0.02]],
                "launch_load": [[NAN, 1.7, 1.6]],
            },
            (2,),
            id="a known load is better than an unknown one",
        ),
        pytest.param(
            {"allowed": [[1, 1], [1, 1], [1, 1]], "margin": [[0.02] * 2] * 3},
            (0, 1, None),
            id="all alike: the earliest archers and sets first",
        ),
        pytest.param(
            {
                "allowed": [[1, 1]] * 3,
                "margin": [[0.02, 0.02 + TOLERANCE / 10]] * 3,
                "capacity": [3, 3],
            },
            (0, 0, 0),
            id="margins closer than the tolerance are the same",
        ),
        pytest.param(
            {"allowed": [[1], [1], [1]], "margin": [[0.02]] * 3, "capacity": [2]},
            (0, 0, None),
            id="a large set serves as many as its arrows allow",
        ),
        pytest.param(
            {"allowed": [[0, 0], [0, 1]], "margin": [[NAN, -0.1], [NAN, 0.0]]},
            (None, 1),
            id="what is not allowed is never given, and may be unknown",
        ),
    ],
)
def test_criteria_in_their_order(figures, expected):
    assert assign(**figures) == expected


def test_archers_are_left_out_without_an_allowed_set_or_where_all_are_taken():
    found = assign(
        allowed=[[1, 0], [1, 0], [0, 0], [0, 0]],
        margin=[[0.01, -0.02], [0.01, -0.02], [-0.03, -0.01], [NAN, NAN]],
    )
    assert found == (0, None, None, None)


def test_small_differences_of_load_survive_large_clubs():
    archers = 500
    loads = np.full((archers, archers), LAUNCH_LOAD_MIDDLE + 0.5)
    loads[np.arange(archers), np.arange(archers)[::-1]] -= LAUNCH_LOAD_STEP
    full = np.ones((archers, archers), dtype=bool)
    found = assign(allowed=full, passes=full, in_window=full, margin=full * 0.02, launch_load=loads)
    assert found == tuple(range(archers))[::-1]


def test_empty_club():
    found = assign_sets(
        allowed=np.zeros((0, 2), dtype=bool),
        passes=np.zeros((0, 2), dtype=bool),
        in_window=np.zeros((0, 2), dtype=bool),
        margin=np.zeros((0, 2)),
        launch_load=np.zeros((0, 2)),
        capacity=np.array([1, 1]),
    )
    assert found == ()


def test_empty_rack():
    found = assign(allowed=np.zeros((2, 0)), margin=np.zeros((2, 0)))
    assert found == (None, None)


@pytest.mark.parametrize(
    ("figures", "message"),
    [
        pytest.param({"margin": [[0.1, 0.1]]}, "differ in shape", id="shapes"),
        pytest.param({"margin": [[NAN], [0.1]]}, "not finite", id="unknown margin"),
        pytest.param({"margin": [[0.1], [0.1]], "capacity": [-1]}, "negative", id="capacity"),
        pytest.param({"margin": [[0.1], [0.1]], "capacity": [1, 1]}, "a row for each", id="sets"),
        pytest.param(
            {"margin": [[0.1], [0.1]], "launch_load": [[1e12], [1.0]]}, "exactly", id="load"
        ),
        pytest.param(
            {"margin": [[0.1], [0.1]], "launch_load": [[1e11], [1.0]]}, "exactly", id="weights"
        ),
    ],
)
def test_what_cannot_be_weighed_is_refused(figures, message):
    with pytest.raises(ValueError, match=message):
        assign(allowed=[[1], [1]], **figures)


def test_solver_is_imported_only_when_it_is_needed():
    program = (
        "import sys; import drawmark.fitting.kit.assignment, drawmark.fitting.kit.stock_lengths; "
        "sys.exit('scipy.optimize' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
