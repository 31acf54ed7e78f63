from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from builders.model import BARRELLED, FULL, PLAIN, column_of, plain, tapered
from builders.statics import spine_of, stiffness_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.arrow_parts import (
    cut,
    parts_of,
    tube_length,
)
from drawmark.fitting.mechanics.stations import profile_of
from drawmark.fitting.model import Arrow, Fletching, Nock, Point, Shaft


def test_parts_lie_where_they_are() -> None:
    places = {part.name: (part.start, part.end) for part in parts_of(FULL)}
    assert places == {
        "shaft": (0.012, 0.762),
        "point": pytest.approx((0.758, 0.758)),
        "insert": pytest.approx((0.732, 0.762)),
        "nock": (0.0, 0.0),
        "fletching": pytest.approx((0.03, 0.09)),
        "wrap": pytest.approx((0.012, 0.112)),
    }
    assert tube_length(FULL) == pytest.approx(0.75)


def test_parts_without_a_mass_are_left_out() -> None:
    arrow = plain(nock=Nock(projection=0.01), fletching=Fletching(rear_edge=0.03))
    assert [part.name for part in parts_of(arrow)] == ["shaft", "point"]


def test_parts_of_columns_are_those_of_each() -> None:
    shorter = dataclasses.replace(FULL, length=0.7)
    for column, *single in zip(
        parts_of(column_of([FULL, shorter])), parts_of(FULL), parts_of(shorter), strict=True
    ):
        assert np.broadcast_to(column.mass, 2).tolist() == [part.mass for part in single]
        assert np.broadcast_to(column.centre, 2).tolist() == [part.centre for part in single]


def test_mass_of_a_shaft_with_stations() -> None:
    places = np.linspace(0, 0.762, 200_001)
    assert BARRELLED.shaft is not None
    assert BARRELLED.shaft.stations is not None
    assert BARRELLED.shaft.mass_per_length is not None
    density = BARRELLED.shaft.mass_per_length * profile_of(BARRELLED.shaft.stations).mass_at(places)
    shaft = parts_of(BARRELLED)[0]
    mass = np.trapezoid(density, places) if hasattr(np, "trapezoid") else np.trapz(density, places)
    assert shaft.mass == pytest.approx(mass, rel=1e-9)
    middle = np.sum(density * places) / np.sum(density)
    assert shaft.centre == pytest.approx(middle, rel=1e-5)


@pytest.mark.parametrize(
    ("arrow", "paths"),
    [
        (Arrow(), ["arrow.length", "arrow.shaft.mass_per_length", "arrow.point.mass"]),
        (plain(length=None), ["arrow.length"]),
        (plain(shaft=Shaft(static_spine=5.0)), ["arrow.shaft.mass_per_length"]),
        (plain(point=Point(exposed_length=0.02)), ["arrow.point.mass"]),
        (plain(fletching=Fletching(mass=0.001)), ["arrow.fletching"]),
    ],
    ids=["nothing", "length", "mass per length", "point", "fletching's place"],
)
def test_parts_need(arrow: Arrow, paths: list[str]) -> None:
    with pytest.raises(FittingError) as caught:
        parts_of(arrow)
    assert [".".join(map(str, fault.path)) for fault in caught.value.faults] == paths


class TestCut:
    def test_drops_what_was_measured(self) -> None:
        arrow = dataclasses.replace(FULL, mass=0.025, balance_point=0.42)
        after = cut(arrow, 0.7)
        assert after == dataclasses.replace(FULL, length=0.7)

    @pytest.mark.parametrize("length", [0.7621, 0.012, 0.01])
    def test_refuses(self, length: float) -> None:
        with pytest.raises(FittingError):
            cut(FULL, length)

    def test_front_leaves_the_rear_as_it_was(self) -> None:
        after = cut(BARRELLED, 0.7)
        assert after.shaft is not None
        assert after.shaft.stations is not None
        places = np.linspace(0, 0.7, 50)
        assert BARRELLED.shaft is not None
        assert BARRELLED.shaft.stations is not None
        before = profile_of(BARRELLED.shaft.stations)
        assert np.allclose(
            profile_of(after.shaft.stations).stiffness_at(places), before.stiffness_at(places)
        )
        assert stiffness_of(after) == pytest.approx(stiffness_of(BARRELLED))

    def test_rear_leaves_the_front_as_it_was(self) -> None:
        after = cut(BARRELLED, 0.7, "rear")
        assert after.shaft is not None
        assert after.shaft.stations is not None
        assert BARRELLED.shaft is not None
        assert BARRELLED.shaft.stations is not None
        places = np.linspace(0, 0.7, 50)
        before = profile_of(BARRELLED.shaft.stations)
        assert np.allclose(
            profile_of(after.shaft.stations).mass_at(places), before.mass_at(places + 0.062)
        )
        assert stiffness_of(after) == pytest.approx(stiffness_of(BARRELLED))

    def test_twice_is_as_once(self) -> None:
        once = cut(BARRELLED, 0.66, "rear")
        twice = cut(cut(BARRELLED, 0.71, "rear"), 0.66, "rear")
        assert stiffness_of(twice) == pytest.approx(stiffness_of(once), rel=1e-12)
        assert parts_of(twice)[0].mass == pytest.approx(parts_of(once)[0].mass, rel=1e-12)

    def test_moves_the_tested_spine_of_a_taper(self) -> None:
        arrow = tapered((0.0, 1.2, 1.0), (0.762, 0.6, 1.0))
        whole = spine_of(arrow)
        assert whole is not None
        assert arrow.shaft is not None
        assert whole == pytest.approx(arrow.shaft.static_spine)
        front, rear = (spine_of(cut(arrow, 0.72, end)) for end in ("front", "rear"))
        assert front is not None
        assert rear is not None
        assert front > whole > rear
        assert spine_of(cut(arrow, 0.70)) is None


def test_a_level_profile_is_a_uniform_shaft() -> None:
    arrow = tapered((0.0, 1.0, 1.0), (0.4, 1.0, 1.0))
    assert stiffness_of(arrow) == pytest.approx(stiffness_of(PLAIN), rel=1e-12)
    assert parts_of(arrow)[0].mass == pytest.approx(parts_of(PLAIN)[0].mass, rel=1e-12)
    assert parts_of(arrow)[0].centre == pytest.approx(parts_of(PLAIN)[0].centre, rel=1e-12)
