"""Lengths on the marks of a saw: never past what they are rounded away from."""

from __future__ import annotations

import numpy as np
import pytest

from drawmark.fitting.limits import TOLERANCE
from drawmark.fitting.rounding import round_down, round_up
from drawmark.fitting.units import INCH


@pytest.mark.parametrize(
    ("length", "increment", "up", "down"),
    [
        pytest.param(29.0, None, 29.0, 29.0, id="no saw"),
        pytest.param(29.0, 0.25, 29.0, 29.0, id="on the scale"),
        pytest.param(29.01, 0.25, 29.25, 29.0, id="just above a step"),
        pytest.param(29.24, 0.25, 29.25, 29.0, id="just below the next"),
        pytest.param(29.25, 0.25, 29.25, 29.25, id="on the next"),
        pytest.param(28.9, 0.7, 29.4, 28.7, id="an odd step"),
    ],
)
def test_saw(length, increment, up, down):
    step = None if increment is None else increment * INCH
    assert round_up(length * INCH, step) / INCH == pytest.approx(up)
    assert round_down(length * INCH, step) / INCH == pytest.approx(down)


def test_saw_takes_what_is_within_the_tolerance_of_a_step():
    assert round_up(0.725 + 0.9 * TOLERANCE, 0.001) == 0.725 + 0.9 * TOLERANCE
    assert round_up(0.725 + 1.1 * TOLERANCE, 0.001) == pytest.approx(0.726)
    assert round_down(0.725 - 0.9 * TOLERANCE, 0.001) == pytest.approx(0.725)
    assert round_down(0.725 - 1.1 * TOLERANCE, 0.001) == pytest.approx(0.724)


def test_columns_give_the_same_digits():
    lengths = np.array([0.7211, 0.725, 0.7259])
    for rounding in (round_up, round_down):
        assert list(rounding(lengths, 0.001)) == [rounding(float(one), 0.001) for one in lengths]
