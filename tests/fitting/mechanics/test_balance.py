from __future__ import annotations

import dataclasses

import pytest

from builders.model import FULL, plain
from drawmark.fitting.mechanics.balance import (
    disagreement_of,
    front_of_centre_range,
)
from drawmark.fitting.mechanics.weighing import front_of_centre_of, weigh
from drawmark.fitting.model import Arrow, Fletching, Nock, Point
from drawmark.fitting.units import GRAIN, INCH

DRESSED = plain(
    point=Point(mass=0.0078, centre=0.0),
    nock=Nock(mass=0.0),
    fletching=Fletching(mass=0.0, rear_edge=0.025, length=0.05),
)
"""An arrow all of whose parts are told, bare though it is."""


@pytest.mark.parametrize("without", ["nock", "fletching"])
def test_range_without_the_rear_parts(without: str) -> None:
    """A coach would not trust the balance of an arrow whose nock or vanes nobody weighed."""
    assert front_of_centre_range(DRESSED) == (front_of_centre_of(DRESSED),) * 2
    undressed = dataclasses.replace(DRESSED, **{without: None})
    low, high = front_of_centre_range(undressed)
    assert high == front_of_centre_of(undressed)
    usual = {
        "nock": Nock(mass=10 * GRAIN),
        "fletching": Fletching(mass=20 * GRAIN, rear_edge=1.2 * INCH, length=2 * INCH),
    }
    clothed = dataclasses.replace(DRESSED, **{without: usual[without]})
    assert low < front_of_centre_of(clothed) < high


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
    arrow = dataclasses.replace(DRESSED, point=point)
    ends = [
        front_of_centre_of(
            dataclasses.replace(DRESSED, point=dataclasses.replace(point, centre=centre))
        )
        for centre in (-behind, ahead)
    ]
    low, high = front_of_centre_range(arrow)
    assert [low, high] == pytest.approx(ends)
    assert low < front_of_centre_of(arrow) <= high


@pytest.mark.parametrize("arrow", [FULL, plain(balance_point=0.45)], ids=["centre", "measured"])
def test_no_range_where_the_balance_is_known(arrow: Arrow) -> None:
    assert front_of_centre_range(arrow) == (front_of_centre_of(arrow),) * 2


def test_disagreement() -> None:
    mass, moment = weigh(FULL)
    measured = dataclasses.replace(FULL, mass=mass * 1.25, balance_point=moment / mass - 0.02)
    found = disagreement_of(measured)
    assert found.mass == pytest.approx(0.2)
    assert found.balance_point == pytest.approx(-0.02)
    assert disagreement_of(FULL).mass is None
    assert disagreement_of(Arrow(length=0.7, mass=0.02)).mass is None
