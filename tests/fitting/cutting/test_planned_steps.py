import itertools

import pytest

from drawmark.fitting.cutting.planned_steps import plan_steps, share_shafts
from drawmark.fitting.cutting.saw_limits import Cutting


def plan(present=0.762, goal=0.724, floor=0.70, **changes):
    increment = changes.pop("increment", 0.0005)
    return plan_steps(
        present=present,
        goal=goal,
        floor=floor,
        options=Cutting(**changes),
        increment=increment,
    )


def test_steps_shrink_toward_the_end_and_reach_the_goal():
    lengths = plan()
    cuts = [before - after for before, after in itertools.pairwise([0.762, *lengths])]
    assert cuts == sorted(cuts, reverse=True)
    assert max(cuts) <= 0.010 + 1e-9
    assert lengths[-1] == pytest.approx(0.724)


@pytest.mark.parametrize(
    ("changes", "last"),
    [
        pytest.param({"floor": 0.740}, 0.740, id="floor stands before the goal"),
        pytest.param({"wanted_length": 0.735}, 0.735, id="wanted stands before recommended"),
        pytest.param({"wanted_length": 0.69}, 0.70, id="floor stands before wanted"),
        pytest.param({"goal": 0.7243, "increment": 0.001}, 0.725, id="rounded up to the saw"),
    ],
)
def test_where_the_plan_ends(changes, last):
    assert plan(**changes)[-1] == pytest.approx(last)


@pytest.mark.parametrize("present", [0.724, 0.72, 0.7255])
def test_nothing_to_cut(present):
    assert plan(present=present) == []


@pytest.mark.parametrize(
    ("increment", "largest", "smallest"),
    [(0.005, 0.003, 0.002), (0.01, 0.002, 0.002), (None, 0.01, 0.0005), (0.001, 0.05, 0.02)],
)
def test_awkward_saws_still_end(increment, largest, smallest):
    lengths = plan(increment=increment, largest_step=largest, smallest_step=smallest)
    assert lengths
    assert all(after < before for before, after in itertools.pairwise([0.762, *lengths]))
    assert min(lengths) >= 0.724 - 1e-6


@pytest.mark.parametrize(
    ("count", "test", "shares"),
    [
        pytest.param(12, 2, (2, 10, 1), id="a dozen"),
        pytest.param(2, 2, (1, 1, 1), id="two: one is kept"),
        pytest.param(1, 2, (1, 0, 0), id="a single one"),
        pytest.param(6, 24, (5, 1, 1), id="too many asked"),
    ],
)
def test_one_shaft_stays_uncut(count, test, shares):
    shafts = share_shafts(Cutting(set_count=count, test_shafts=test))
    assert (shafts.test, shafts.waiting, shafts.uncut) == shares
