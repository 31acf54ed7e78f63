from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders.model import BARRELLED, FULL, PLAIN, arrows, column_of, plain
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.beam import buckling_forces
from drawmark.fitting.mechanics.launch import critical_launch_force, launch_load
from drawmark.fitting.mechanics.tubes import tubes_of
from drawmark.fitting.model import Arrow, Fletching, Insert, Point


@given(arrow=arrows())
@settings(max_examples=30)
def test_sines_agree_with_elements(arrow: Arrow) -> None:
    elements = buckling_forces(tubes_of((arrow,), elements=60))[0]
    assert critical_launch_force(arrow) == pytest.approx(elements, rel=1e-5)


@given(arrow=arrows(centre=True))
@settings(max_examples=30)
def test_sines_agree_with_elements_where_the_point_sits_inside(arrow: Arrow) -> None:
    elements = buckling_forces(tubes_of((arrow,), elements=60))[0]
    assert critical_launch_force(arrow) == pytest.approx(elements, rel=2e-5)


@pytest.mark.parametrize(
    ("centre", "within"),
    [(-0.1, 1e-6), (-0.03, 1e-6), (0.01, 2e-6), (0.025, 4e-6), (0.15, 1e-3)],
    ids=lambda value: f"{value:g}",
)
def test_sines_follow_the_kink_at_the_point(centre: float, within: float) -> None:
    """Where the point's mass sits, the bending moment has a kink that few sines follow."""
    arrow = plain(point=Point(mass=0.01, centre=centre))
    elements = buckling_forces(tubes_of((arrow,), elements=60))[0]
    assert critical_launch_force(arrow) == pytest.approx(elements, rel=within)


@given(
    arrow=arrows(),
    mass=st.floats(0.001, 0.02),
    centre=st.floats(-0.05, 0.1),
    further=st.floats(1e-4, 0.05),
)
def test_a_point_further_ahead_lowers_it(
    arrow: Arrow, mass: float, centre: float, further: float
) -> None:
    near, far = (
        dataclasses.replace(arrow, point=Point(mass=mass, centre=place))
        for place in (centre, centre + further)
    )
    assert critical_launch_force(far) < critical_launch_force(near)
    by_elements = buckling_forces(tubes_of((near, far)))
    assert by_elements[1] < by_elements[0]


@given(items=st.lists(st.floats(0.3, 1.0), min_size=2, max_size=9))
def test_columns_give_the_same_digits(items: list[float]) -> None:
    single = [
        dataclasses.replace(
            FULL,
            length=length,
            point=Point(mass=0.02 * length, centre=0.02 - 0.03 * length),
            insert=Insert(mass=0.001, length=max(0.0, length - 0.9)),
        )
        for length in items
    ]
    column = critical_launch_force(column_of(single))
    assert np.asarray(column).tolist() == [critical_launch_force(arrow) for arrow in single]


@given(arrow=arrows(centre=True), share=st.floats(0.7, 0.999))
def test_a_cut_never_lowers_it(arrow: Arrow, share: float) -> None:
    assert arrow.length is not None
    assert critical_launch_force(cut(arrow, arrow.length * share)) >= critical_launch_force(arrow)


@given(arrow=arrows(), more=st.floats(1e-5, 0.02))
def test_a_heavier_point_never_raises_it(arrow: Arrow, more: float) -> None:
    assert arrow.point is not None
    heavy = dataclasses.replace(arrow, point=Point(mass=arrow.point.mass + more))
    assert critical_launch_force(heavy) <= critical_launch_force(arrow) * (1 + 1e-9)


@pytest.mark.parametrize("end", ["front", "rear"])
def test_a_cut_of_a_barrelled_shaft_raises_it(end: str) -> None:
    forces = [
        critical_launch_force(cut(BARRELLED, length, "rear" if end == "rear" else "front"))
        for length in (0.762, 0.75, 0.72, 0.68, 0.6)
    ]
    assert forces == sorted(forces)
    assert len(set(forces)) == len(forces)


def test_a_level_profile_is_a_uniform_shaft() -> None:
    assert FULL.shaft is not None
    assert BARRELLED.shaft is not None
    assert BARRELLED.shaft.stations is not None
    level = tuple(
        dataclasses.replace(station, relative_stiffness=1.0, relative_mass=1.0)
        for station in BARRELLED.shaft.stations
    )
    arrow = dataclasses.replace(FULL, shaft=dataclasses.replace(FULL.shaft, stations=level))
    assert critical_launch_force(arrow) == pytest.approx(critical_launch_force(FULL), rel=1e-5)


def test_digits_stay() -> None:
    """Our own digits, against change by accident."""
    assert critical_launch_force(PLAIN) == pytest.approx(132.108278, rel=1e-7)


def test_load() -> None:
    assert launch_load(90.0, 60.0) == 1.5


@pytest.mark.parametrize(
    ("arrow", "path"),
    [
        (plain(point=None), "arrow.point.mass"),
        (plain(shaft=None), "arrow.shaft.static_spine"),
        (plain(length=None), "arrow.length"),
        (plain(fletching=Fletching(mass=0.001)), "arrow.fletching"),
    ],
)
def test_needs(arrow: Arrow, path: str) -> None:
    with pytest.raises(FittingError) as caught:
        critical_launch_force(arrow)
    assert path in {".".join(map(str, fault.path)) for fault in caught.value.faults}
