from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from drawmark.fitting.mechanics.arrow_parts import (
    assumptions_of,
    cut,
    faults_of,
    parts_of,
    reference_stiffness,
    static_spine_of,
    tube_length,
)
from drawmark.fitting.mechanics.stations import profile_of
from drawmark.fitting.model import (
    Arrow,
    FittingError,
    Fletching,
    Insert,
    Nock,
    Point,
    Shaft,
    Station,
    Wrap,
)
from drawmark.fitting.units import ASTM_SPAN
from fitting.arrows import BARRELLED, FULL, PLAIN, column_of, plain


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


@pytest.mark.parametrize(
    ("arrow", "paths"),
    [
        (FULL, []),
        (BARRELLED, []),
        (Arrow(), []),
        (plain(length=0.65), []),
        (plain(fletching=Fletching(mass=0.001, length=0.05)), ["arrow.fletching.rear_edge"]),
        (plain(fletching=Fletching(mass=0.001, rear_edge=0.05)), ["arrow.fletching.length"]),
        (plain(fletching=Fletching(rear_edge=0.05)), []),
        (plain(fletching=Fletching(rear_edge=0.35, length=0.4), length=0.7), ["arrow.fletching"]),
        (
            plain(
                nock=Nock(projection=0.03),
                fletching=Fletching(mass=0.001, rear_edge=0.02, length=0.05),
            ),
            ["arrow.fletching.rear_edge"],
        ),
        (
            plain(length=0.3, nock=Nock(projection=0.06), wrap=Wrap(mass=0.001, length=0.25)),
            ["arrow.wrap.length"],
        ),
        (
            plain(length=0.3, nock=Nock(projection=0.3)),
            ["arrow.nock.projection"],
        ),
        (
            plain(length=0.12, insert=Insert(mass=0.001, length=0.2)),
            ["arrow.insert.length"],
        ),
        (
            plain(length=0.12, point=Point(mass=0.01, shank_length=0.15, sleeve_length=0.14)),
            ["arrow.point.shank_length", "arrow.point.sleeve_length"],
        ),
        (
            plain(point=Point(mass=0.01, exposed_length=0.02, centre=0.03)),
            ["arrow.point.centre"],
        ),
        (
            plain(point=Point(mass=0.01, shank_length=0.02, centre=-0.03)),
            ["arrow.point.centre"],
        ),
        (plain(point=Point(mass=0.01, shank_length=0.02, sleeve_length=0.04, centre=-0.03)), []),
        (plain(length=0.7, balance_point=0.71), ["arrow.balance_point"]),
    ],
)
def test_faults(arrow: Arrow, paths: list[str]) -> None:
    assert [".".join(map(str, fault.path)) for fault in faults_of(arrow)] == paths


def stations(*places: float) -> tuple[Station, ...]:
    return tuple(
        Station(position=place, relative_stiffness=1.0, relative_mass=1.0) for place in places
    )


@pytest.mark.parametrize(
    ("length", "places", "paths"),
    [
        (0.762, (0.0, 0.3, 0.2, 0.2), [2, 3]),
        (0.70, (0.0, 0.70), [None]),
        (0.70, (0.0, ASTM_SPAN), []),
        (ASTM_SPAN, (0.1, 0.2), []),
    ],
    ids=["not ascending", "too short to test", "tested before the cut", "of the span exactly"],
)
def test_faults_of_stations(
    length: float, places: tuple[float, ...], paths: list[int | None]
) -> None:
    shaft = Shaft(static_spine=5.0, mass_per_length=0.02, stations=stations(*places))
    expected = [
        ("arrow", "shaft", "stations") + (() if index is None else (index, "position"))
        for index in paths
    ]
    arrow = plain(length=length, shaft=shaft)
    assert [fault.path for fault in faults_of(arrow)] == expected
    if paths == [None]:
        with pytest.raises(FittingError, match="28 in span"):
            reference_stiffness(arrow)


def test_every_default_is_told() -> None:
    told = {".".join(assumption.path) for assumption in assumptions_of(PLAIN)}
    assert told == {
        "arrow.point.centre",
        "arrow.insert",
        "arrow.nock.projection",
        "arrow.fletching.mass",
        "arrow.wrap",
        "arrow.shaft.stations",
    }
    assert [item.path[-1] for item in assumptions_of(FULL)] == ["stations"]
    bare = plain(insert=Insert(mass=0.001), nock=None)
    told = {".".join(assumption.path) for assumption in assumptions_of(bare)}
    assert {"arrow.insert.length", "arrow.nock.mass"} <= told


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
        assert reference_stiffness(after) == pytest.approx(reference_stiffness(BARRELLED))

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
        assert reference_stiffness(after) == pytest.approx(reference_stiffness(BARRELLED))

    def test_twice_is_as_once(self) -> None:
        once = cut(BARRELLED, 0.66, "rear")
        twice = cut(cut(BARRELLED, 0.71, "rear"), 0.66, "rear")
        assert reference_stiffness(twice) == pytest.approx(reference_stiffness(once), rel=1e-12)
        assert parts_of(twice)[0].mass == pytest.approx(parts_of(once)[0].mass, rel=1e-12)

    def test_moves_the_tested_spine_of_a_taper(self) -> None:
        tapered = dataclasses.replace(
            BARRELLED,
            shaft=dataclasses.replace(
                BARRELLED.shaft,
                stations=(
                    Station(position=0.0, relative_stiffness=1.2, relative_mass=1.0),
                    Station(position=0.762, relative_stiffness=0.6, relative_mass=1.0),
                ),
            ),
        )
        whole = static_spine_of(tapered)
        assert whole is not None
        assert tapered.shaft is not None
        assert whole == pytest.approx(tapered.shaft.static_spine)
        front, rear = (static_spine_of(cut(tapered, 0.72, end)) for end in ("front", "rear"))
        assert front is not None
        assert rear is not None
        assert front > whole > rear
        assert static_spine_of(cut(tapered, 0.70)) is None


def test_a_level_profile_is_a_uniform_shaft() -> None:
    shaft = dataclasses.replace(PLAIN.shaft, stations=stations(0.0, 0.4))
    level = plain(shaft=shaft)
    assert reference_stiffness(level) == pytest.approx(reference_stiffness(PLAIN), rel=1e-12)
    assert parts_of(level)[0].mass == pytest.approx(parts_of(PLAIN)[0].mass, rel=1e-12)
    assert parts_of(level)[0].centre == pytest.approx(parts_of(PLAIN)[0].centre, rel=1e-12)
