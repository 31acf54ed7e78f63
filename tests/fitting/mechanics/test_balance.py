from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.balance import (
    balance_point_of,
    disagreement_of,
    front_of_centre_of,
    front_of_centre_range,
    mass_of,
    point_mass_for,
    with_point_mass,
)
from drawmark.fitting.model import Arrow, FittingError, Point
from drawmark.fitting.units import GRAIN
from fitting.arrows import FULL, PLAIN, arrows, column_of, plain


def test_two_parts_balance_like_a_lever() -> None:
    arrow = plain(nock=None)
    shaft, point = 30 * 8.4, 120
    assert mass_of(arrow) / GRAIN == pytest.approx(shaft + point)
    lever = (shaft * 15 + point * 30) / (shaft + point)
    assert balance_point_of(arrow) / 0.0254 == pytest.approx(lever)


def test_measured_balance_comes_before_the_parts() -> None:
    arrow = plain(balance_point=0.45)
    assert front_of_centre_of(arrow) == pytest.approx(100 * (0.45 - 0.381) / 0.762)
    assert front_of_centre_of(Arrow(length=0.724, balance_point=0.45)) == pytest.approx(12.1546961)
    assert front_of_centre_range(arrow) == (front_of_centre_of(arrow),) * 2


def test_columns_give_what_each_gives() -> None:
    other = cut(FULL, 0.7)
    column = column_of([FULL, other])
    assert np.asarray(mass_of(column)).tolist() == [mass_of(FULL), mass_of(other)]
    assert np.asarray(front_of_centre_of(column)).tolist() == [
        front_of_centre_of(FULL),
        front_of_centre_of(other),
    ]


@pytest.mark.parametrize(
    ("point", "behind", "ahead"),
    [
        (Point(mass=0.0078), 0.040, 0.025),
        (Point(mass=0.0078, exposed_length=0.01), 0.040, 0.01),
        (Point(mass=0.0078, shank_length=0.03), 0.03, 0.025),
        (Point(mass=0.0078, shank_length=0.03, sleeve_length=0.05, exposed_length=0.0), 0.05, 0.0),
    ],
    ids=["nothing given", "exposed length", "shank", "collar"],
)
def test_range_without_the_point_centre(point: Point, behind: float, ahead: float) -> None:
    arrow = plain(point=point)
    ends = [
        front_of_centre_of(plain(point=dataclasses.replace(point, centre=centre)))
        for centre in (-behind, ahead)
    ]
    low, high = front_of_centre_range(arrow)
    assert [low, high] == pytest.approx(ends)
    assert low < front_of_centre_of(arrow) <= high


def test_no_range_with_the_point_centre() -> None:
    assert front_of_centre_range(FULL) == (front_of_centre_of(FULL),) * 2


def test_disagreement() -> None:
    mass, place = float(mass_of(FULL)), float(balance_point_of(FULL))
    found = disagreement_of(dataclasses.replace(FULL, mass=mass * 1.25, balance_point=place - 0.02))
    assert found.mass == pytest.approx(0.2)
    assert found.balance_point == pytest.approx(-0.02)
    assert disagreement_of(FULL).mass is None
    assert disagreement_of(Arrow(length=0.7, mass=0.02)).mass is None


@given(arrow=arrows(centre=True), more=st.floats(1e-5, 0.01))
def test_front_of_centre_rises_with_the_point(arrow: Arrow, more: float) -> None:
    assert arrow.point is not None
    heavier = with_point_mass(arrow, arrow.point.mass + more)
    assert front_of_centre_of(heavier) > front_of_centre_of(arrow)


class TestPointMass:
    @given(arrow=arrows(centre=True), wanted=st.floats(7.0, 16.0))
    def test_brings_what_is_wanted_or_says_why_not(self, arrow: Arrow, wanted: float) -> None:
        solution = point_mass_for(arrow, wanted)
        assert (solution.value is None) != (solution.reason is None)
        if solution.value is not None:
            assert arrow.point is not None
            assert solution.value <= 2 * arrow.point.mass * (1 + 1e-9)
            after = with_point_mass(arrow, solution.value)
            assert front_of_centre_of(after) == pytest.approx(wanted, abs=1e-9)

    @pytest.mark.parametrize(
        ("arrow", "wanted", "reason"),
        [
            (PLAIN, 6.9, "outside the common band"),
            (PLAIN, 16.1, "outside the common band"),
            (plain(point=Point(mass=0.001)), 15.0, "twice the present mass"),
            (plain(point=Point(mass=0.09), nock=None), 15.9, None),
            (plain(point=Point(mass=0.01, centre=-0.3)), 12.0, "behind the wanted"),
        ],
    )
    def test_refusals(self, arrow: Arrow, wanted: float, reason: str | None) -> None:
        solution = point_mass_for(arrow, wanted)
        if reason is None:
            assert solution.value is not None
        else:
            assert reason in str(solution.reason)

    def test_takes_what_can_be_bought(self) -> None:
        exact = point_mass_for(PLAIN, 14.0).value
        assert exact is not None
        bought = point_mass_for(PLAIN, 14.0, [80 * GRAIN, 100 * GRAIN, 120 * GRAIN]).value
        assert bought is not None
        assert abs(bought - exact) <= 10 * GRAIN
        assert round(bought / GRAIN) % 20 == 0

    def test_refuses_a_bought_one_outside_the_band(self) -> None:
        assert "outside" in str(point_mass_for(PLAIN, 15.9, [150 * GRAIN]).reason)

    def test_after_a_cut(self) -> None:
        short = cut(PLAIN, 0.70)
        mass = point_mass_for(short, 12.0).value
        assert mass is not None
        assert front_of_centre_of(with_point_mass(short, mass)) == pytest.approx(12.0)

    def test_needs_a_point(self) -> None:
        with pytest.raises(FittingError, match=r"arrow\.point\.mass"):
            point_mass_for(plain(point=None), 12.0)
        with pytest.raises(FittingError, match=r"arrow\.point\.mass"):
            with_point_mass(plain(point=None), 0.01)
