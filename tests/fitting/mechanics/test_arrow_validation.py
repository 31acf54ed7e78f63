from __future__ import annotations

import pytest

from builders.model import BARRELLED, FULL, PLAIN, plain
from builders.statics import stiffness_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.arrow_validation import assumptions_of, faults_of
from drawmark.fitting.model import Arrow, Fletching, Insert, Nock, Point, Shaft, Station, Wrap
from drawmark.fitting.units import ASTM_SPAN


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


def level(*places: float) -> tuple[Station, ...]:
    """Stations all alike."""
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
    shaft = Shaft(static_spine=5.0, mass_per_length=0.02, stations=level(*places))
    expected = [
        ("arrow", "shaft", "stations") + (() if index is None else (index, "position"))
        for index in paths
    ]
    arrow = plain(length=length, shaft=shaft)
    assert [fault.path for fault in faults_of(arrow)] == expected
    if paths == [None]:
        with pytest.raises(FittingError, match="28 in span"):
            stiffness_of(arrow)


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
