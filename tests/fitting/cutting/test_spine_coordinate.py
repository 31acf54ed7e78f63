import numpy as np
import pytest

from drawmark.fitting import limits
from drawmark.fitting.cutting.spine_coordinate import Coordinate, coordinate_lengths


def test_slope_is_carried_on_where_the_shaft_ends():
    grid = Coordinate(name="x", lengths=np.array([0.7, 0.8]), log_spine=np.array([1.0, 1.5]))
    assert grid.reach(0.7, 0.84).at(0.84) == pytest.approx(1.7)
    assert grid.reach(0.6, 0.8).at(0.6) == pytest.approx(0.5)
    within = grid.reach(0.75, 0.75)
    assert within.lengths.tolist() == [0.7, 0.8]


def test_spine_must_rise_with_length():
    with pytest.raises(ValueError, match="must rise"):
        Coordinate(name="x", lengths=np.array([0.7, 0.8]), log_spine=np.array([1.0, 1.0]))


def test_knots_reach_beyond_every_length():
    lengths = coordinate_lengths([0.70, 0.762])
    assert lengths[0] == pytest.approx(0.56)
    assert lengths[-1] == pytest.approx(0.802)
    assert max(lengths[1:] - lengths[:-1]) <= limits.COORDINATE_STEP + 1e-12


def test_short_arrows_keep_a_shaft():
    assert coordinate_lengths([0.30])[0] == limits.SHORTEST_CONSIDERED
