"""Sets shared by details, and parts of sets, against every way of giving them out."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawmark.fitting.kit.sharing import Share, share_sets
from drawmark.fitting.limits import LAUNCH_LOAD_MIDDLE, LAUNCH_LOAD_STEP, TOLERANCE

NAN = math.nan


def judge(shares, club, rows, worst):
    """Rank what the archers of one detail get: less is better."""
    pairs = [(row, one) for row, one in zip(rows, shares, strict=True) if one is not None]
    loads = [club["launch_load"][row, one.place] for row, one in pairs]
    off = sum(worst if math.isnan(x) else abs(x - LAUNCH_LOAD_MIDDLE) for x in loads)
    usual = sum(
        bool(club["in_window"][row, one.place]) and one.arrows == club["each"] for row, one in pairs
    )
    margins = [club["margin"][row, one.place] for row, one in pairs]
    return (
        -len(pairs),
        -sum(bool(club["passes"][row, one.place]) for row, one in pairs),
        -usual,
        -round(min(margins, default=0.0) / TOLERANCE),
        round(off / LAUNCH_LOAD_STEP),
    )


def fits(shares, club):
    """Nobody of a detail has an arrow of another, and all have as many as will do."""
    given_out = [one for one in shares if one is not None]
    for place, count in enumerate(club["counts"].tolist()):
        parts = [one.arrows for one in given_out if one.place == place]
        if sum(parts) > count or parts.count(count % club["each"]) > 1:
            return False
    return all(one.arrows >= club["least"] for one in given_out)


@st.composite
def clubs(draw):
    archers, sets = draw(st.integers(1, 4)), draw(st.integers(1, 3))
    each = draw(st.integers(2, 4))

    def matrix(elements):
        row = st.lists(elements, min_size=sets, max_size=sets)
        return np.array(draw(st.lists(row, min_size=archers, max_size=archers)))

    counts = draw(st.lists(st.integers(0, 9), min_size=sets, max_size=sets))
    details = draw(st.lists(st.sampled_from("AB"), min_size=archers, max_size=archers))
    return {
        "allowed": matrix(st.booleans()),
        "passes": matrix(st.booleans()),
        "in_window": matrix(st.booleans()),
        "margin": matrix(st.integers(0, 3).map(lambda m: m / 1e3)).astype(float),
        "launch_load": matrix(st.sampled_from([NAN, 1.0, 1.35, 1.7])).astype(float),
        "counts": np.array(counts),
        "each": each,
        "least": draw(st.integers(1, each)),
        "details": details,
    }


@settings(max_examples=150)
@given(clubs())
def test_each_detail_gets_the_best_of_all_ways(club):
    found = share_sets(**club)
    for detail in set(club["details"]):
        rows = [row for row, one in enumerate(club["details"]) if one == detail]
        own = [found[row] for row in rows]
        assert fits(own, club)
        assert all(
            one is None or club["allowed"][row, one.place]
            for row, one in zip(rows, own, strict=True)
        )
        loads = club["launch_load"][rows][club["allowed"][rows]]
        known = [abs(x - LAUNCH_LOAD_MIDDLE) for x in loads if not math.isnan(x)]
        worst = max(known, default=0.0)
        choices = [
            [
                None,
                *(
                    Share(place=place, arrows=arrows)
                    for place in np.flatnonzero(club["allowed"][row]).tolist()
                    for arrows in {club["each"], int(club["counts"][place]) % club["each"]}
                ),
            ]
            for row in rows
        ]
        ways = (way for way in itertools.product(*choices) if fits(way, club))
        assert judge(own, club, rows, worst) == min(judge(way, club, rows, worst) for way in ways)


@pytest.mark.parametrize(
    ("counts", "least", "details", "expected"),
    [
        pytest.param([6], None, None, [(0, 6), None], id="one set, one archer"),
        pytest.param([6], None, "AB", [(0, 6), (0, 6)], id="shared by two details"),
        pytest.param([6], None, "AA", [(0, 6), None], id="never in the same detail"),
        pytest.param([5], None, "AB", [None, None], id="too few arrows"),
        pytest.param([5], 4, "AB", [(0, 5), (0, 5)], id="a small set that will do"),
        pytest.param([10], 4, "AA", [(0, 6), (0, 4)], id="what is left will do"),
        pytest.param([9], 4, "AA", [(0, 6), None], id="what is left will not"),
        pytest.param([4, 6], 4, None, [(1, 6), (0, 4)], id="the earlier archer has all arrows"),
    ],
)
def test_who_gets_what(counts, least, details, expected):
    shape = (2, len(counts))
    found = share_sets(
        allowed=np.ones(shape, dtype=bool),
        passes=np.ones(shape, dtype=bool),
        in_window=np.ones(shape, dtype=bool),
        margin=np.zeros(shape),
        launch_load=np.full(shape, NAN),
        counts=np.array(counts),
        each=6,
        least=least,
        details=details,
    )
    assert [one and (one.place, one.arrows) for one in found] == expected
