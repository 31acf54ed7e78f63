from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders.model import FULL, PLAIN, arrows, plain
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.beam import first_bending_frequency
from drawmark.fitting.mechanics.launch import critical_launch_force
from drawmark.fitting.mechanics.point_mass import (
    point_mass_for,
    restoring_point_mass,
    with_point_mass,
)
from drawmark.fitting.mechanics.weighing import front_of_centre_of
from drawmark.fitting.model import Arrow, Point
from drawmark.fitting.units import GRAIN, INCH


class TestPointMass:
    @given(arrow=arrows(centre=True), wanted=st.floats(0.0, 40.0))
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
            (PLAIN, 25.0, "twice as heavy as the present one"),
            (plain(point=Point(mass=0.001)), 15.0, "twice as heavy as the present one"),
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

    @pytest.mark.parametrize(
        ("wanted", "noted"), [(6.5, True), (7.1, False), (15.9, False), (17.0, True)]
    )
    def test_an_unusual_balance_is_a_note(self, wanted: float, noted: bool) -> None:
        """A coach lets an archer shoot 17 %, and says that it is unusual."""
        solution = point_mass_for(PLAIN, wanted)
        assert solution.value is not None
        assert front_of_centre_of(with_point_mass(PLAIN, solution.value)) == pytest.approx(wanted)
        assert (solution.note is not None) == noted
        if noted:
            assert f"{wanted:.1f} %" in str(solution.note)
            assert "7 to 16 %" in str(solution.note)

    def test_notes_the_balance_of_a_bought_one(self) -> None:
        solution = point_mass_for(PLAIN, 15.9, [180 * GRAIN])
        assert solution.value == 180 * GRAIN
        balance = front_of_centre_of(with_point_mass(PLAIN, 180 * GRAIN))
        assert f"{balance:.1f} %" in str(solution.note)

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


class TestRestoringPoint:
    heavy = with_point_mass(PLAIN, 90 * GRAIN)

    def test_restores_by_both(self) -> None:
        before = with_point_mass(FULL, 70 * GRAIN)
        after = cut(before, before.length - 0.25 * INCH if before.length else 0)
        found = restoring_point_mass(before, after)
        assert found.launch.value is not None
        assert found.free_vibration.value is not None
        assert found.launch.value < found.free_vibration.value
        by_launch = with_point_mass(after, found.launch.value)
        assert critical_launch_force(by_launch) == pytest.approx(
            critical_launch_force(before), rel=1e-8
        )
        by_vibration = with_point_mass(after, found.free_vibration.value)
        assert first_bending_frequency(by_vibration) == pytest.approx(
            first_bending_frequency(before), rel=1e-8
        )

    def test_undoes_another_point(self) -> None:
        found = restoring_point_mass(self.heavy, with_point_mass(self.heavy, 80 * GRAIN))
        assert found.launch.value == pytest.approx(90 * GRAIN, rel=1e-6)
        assert found.free_vibration.value == pytest.approx(90 * GRAIN, rel=1e-6)

    def test_takes_what_can_be_bought(self) -> None:
        changed = with_point_mass(self.heavy, 80 * GRAIN)
        found = restoring_point_mass(self.heavy, changed, [85 * GRAIN, 92 * GRAIN])
        assert found.launch.value == 92 * GRAIN

    def test_refuses_more_than_twice(self) -> None:
        found = restoring_point_mass(PLAIN, cut(PLAIN, 26 * INCH))
        assert "twice" in str(found.free_vibration.reason)
        assert "twice" in str(found.launch.reason)

    def test_refuses_what_no_point_can_do(self) -> None:
        assert PLAIN.shaft is not None
        shaft = dataclasses.replace(PLAIN.shaft, static_spine=2.5)
        found = restoring_point_mass(PLAIN, plain(shaft=shaft))
        assert "weaker" in str(found.free_vibration.reason)
        assert "weaker" in str(found.launch.reason)

    def test_an_unusual_balance_is_a_note(self) -> None:
        """A coach answers how heavy the point must be, and says that the balance is unusual."""
        found = restoring_point_mass(PLAIN, cut(PLAIN, 29 * INCH))
        assert found.launch.value is not None
        assert "usual 7 to 16 %" in str(found.launch.note)
