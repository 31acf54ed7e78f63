from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders.model import FULL, arrows, column_of, plain
from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.point_mass import with_point_mass
from drawmark.fitting.mechanics.weighing import front_of_centre_of, weigh
from drawmark.fitting.model import Arrow
from drawmark.fitting.units import GRAIN, INCH


def test_two_parts_balance_like_a_lever() -> None:
    arrow = plain(nock=None)
    shaft, point = 30 * 8.4, 120
    mass, moment = weigh(arrow)
    assert mass / GRAIN == pytest.approx(shaft + point)
    lever = (shaft * 15 + point * 30) / (shaft + point)
    assert moment / mass / INCH == pytest.approx(lever)


def test_measured_balance_comes_before_the_parts() -> None:
    arrow = plain(balance_point=0.45)
    assert front_of_centre_of(arrow) == pytest.approx(100 * (0.45 - 0.381) / 0.762)
    assert front_of_centre_of(Arrow(length=0.724, balance_point=0.45)) == pytest.approx(12.1546961)


def test_columns_give_what_each_gives() -> None:
    other = cut(FULL, 0.7)
    column = column_of([FULL, other])
    assert weigh(column)[0].tolist() == [weigh(FULL)[0], weigh(other)[0]]
    assert np.asarray(front_of_centre_of(column)).tolist() == [
        front_of_centre_of(FULL),
        front_of_centre_of(other),
    ]


@given(arrow=arrows(centre=True), more=st.floats(1e-5, 0.01))
def test_front_of_centre_rises_with_the_point(arrow: Arrow, more: float) -> None:
    assert arrow.point is not None
    heavier = with_point_mass(arrow, arrow.point.mass + more)
    assert front_of_centre_of(heavier) > front_of_centre_of(arrow)
