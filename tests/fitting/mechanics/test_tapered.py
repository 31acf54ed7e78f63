from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from builders.model import BARRELLED, NECKED, STEPPED, tapered
from drawmark.fitting.mechanics.arrow_parts import CutEnd, cut
from drawmark.fitting.mechanics.beam import (
    buckling_forces,
    first_bending_frequency,
    natural_frequencies,
)
from drawmark.fitting.mechanics.launch import critical_launch_force
from drawmark.fitting.mechanics.stations import Profile
from drawmark.fitting.mechanics.tapered import edges_of, elements_of, shape_of
from drawmark.fitting.mechanics.tubes import stack, tubes_of
from drawmark.fitting.model import Arrow, Nock, Point


def profile(*places: float, stiffness: float = 1.0, mass: float = 1.0) -> Profile:
    level = np.ones((1, len(places)))
    return Profile(position=np.array([places]), stiffness=stiffness * level, mass=mass * level)


def shafts() -> st.SearchStrategy[Arrow]:
    """Arrows of 762 mm with up to seven stations, some a millimetre apart, steep between."""
    share = st.floats(-1.0, 1.0)
    station = st.tuples(share, share)
    return st.builds(
        lambda places, figures, point, nock: tapered(
            *(
                (place / 1000, 10**stiffness, 10**mass)
                for place, (stiffness, mass) in zip(sorted(places), figures, strict=False)
            ),
            point=Point(mass=point),
            nock=Nock(mass=nock),
        ),
        st.lists(st.integers(0, 762), min_size=2, max_size=7, unique=True),
        st.lists(station, min_size=7, max_size=7),
        st.floats(0.001, 0.015),
        st.floats(0.0, 0.003),
    )


@pytest.mark.parametrize(
    ("places", "ends"),
    [
        ((0.0, 0.3, 0.31, 0.6), (0.3, 0.31)),
        ((-0.1, 0.3, 0.7), (0.3,)),
        ((0.0, 0.3, 0.3001, 0.6), (0.3,)),
        ((0.0001, 0.5999, 0.6), ()),
    ],
    ids=["stations", "beyond the tube", "too close to each other", "too close to the ends"],
)
def test_elements_end_at_stations(places: tuple[float, ...], ends: tuple[float, ...]) -> None:
    edges = np.array(edges_of(places, 0.6, 30))
    assert len(edges) == 31
    assert (edges[0], edges[-1]) == (0.0, 0.6)
    inside = [place for place in places if np.any(edges[1:-1] == place)]
    assert inside == list(ends)
    assert np.all(np.diff(edges) > 0)


@given(arrow=shafts(), share=st.floats(0.4, 1.0), end=st.sampled_from(["front", "rear"]))
def test_elements_are_short_and_alike_in_number_for_every_cut(
    arrow: Arrow, share: float, end: CutEnd
) -> None:
    after = cut(arrow, 0.762 * share, end)
    for one in (arrow, after):
        tubes = tubes_of((one,))
        assert tubes.width.max() <= tubes.length[0] / 24 * (1 + 1e-9)
    assert tubes_of((after,)).edges.shape == tubes_of((arrow, after)).edges[:1].shape


@pytest.mark.parametrize(
    ("places", "length", "number"),
    [((0.0, 0.6), 0.6, 25), ((0.1, 0.5), 0.6, 27), ((-0.1, 0.3, 0.7), 0.6, 26)],
)
def test_number_of_elements(places: tuple[float, ...], length: float, number: int) -> None:
    assert elements_of(places, length) == number


def test_level_shape_is_a_uniform_element() -> None:
    """Where stations are merged the element bends as before, and holds all the mass."""
    level = profile(0.0, 0.2, 0.20005, 0.6, stiffness=3.0, mass=2.0)
    edges = np.array(edges_of(level.position[0].tolist(), 0.6, 7))
    (bending,), (moments,) = shape_of(level, edges[None])
    width = np.diff(edges)[:, None]
    assert bending == pytest.approx(3.0 / width * np.array([1.0, 0.0, 3.0]), rel=1e-9, abs=1e-9)
    assert moments == pytest.approx(2.0 * width / np.arange(1, 8), rel=1e-12)


@pytest.mark.parametrize("arrow", [BARRELLED, NECKED, STEPPED], ids=["b", "necked", "stepped"])
def test_enough_elements(arrow: Arrow) -> None:
    fine = tubes_of((arrow,), elements=150)
    frequency, force = natural_frequencies(fine)[0, 0], buckling_forces(fine)[0]
    assert first_bending_frequency(arrow) == pytest.approx(frequency, rel=5e-5)
    assert critical_launch_force(arrow) == pytest.approx(force, rel=1e-4)


@given(arrow=shafts())
@settings(max_examples=25)
def test_no_taper_is_taken_for_stronger_than_it_is(arrow: Arrow) -> None:
    """Up to a hundred to one between stations: true to 1e-3, and what is off is too weak."""
    fine = tubes_of((arrow,), elements=150)
    force = buckling_forces(fine)[0]
    assert 1 - 2e-3 < critical_launch_force(arrow) / force < 1 + 1e-4
    frequency = natural_frequencies(fine)[0, 0]
    assert 1 - 1e-3 < first_bending_frequency(arrow) / frequency < 1 + 1e-4


@given(arrow=shafts(), end=st.sampled_from(["front", "rear"]), step=st.floats(1e-4, 0.02))
@settings(max_examples=60)
def test_no_cut_lowers_what_it_raises(arrow: Arrow, end: CutEnd, step: float) -> None:
    """Cut at either end, a shaft vibrates faster and stands a greater acceleration.

    The push that it stands is that acceleration times the arrow's mass. At the front a cut
    raises it: what is lost held back ahead of all the rest. At the rear it need not: a shaft
    that loses a heavy rear end must be pushed less to gather the same speed, so that its light
    part comes to buckle under a smaller push.
    """
    tubes = tubes_of([cut(arrow, 0.762 - step * count, end) for count in range(8)])
    force = buckling_forces(tubes)
    rising = [natural_frequencies(tubes)[:, 0], force / tubes.mass]
    if end == "front":
        rising.append(force)
    for figures in rising:
        assert np.all(figures[1:] >= figures[:-1] * (1 - 1e-6))


@pytest.mark.parametrize("apart", [1, 2, 3, 4, 5, 1000])
@pytest.mark.parametrize("step", [(0.05, 20.0), (20.0, 0.05)], ids=["rising", "falling"])
def test_stations_as_close_as_figures_can_be_are_a_step(
    step: tuple[float, float], apart: int
) -> None:
    near, far = step
    place = 0.6512754838215820
    level = tapered((0.0, near, 1.0), (place, near, 1.0), (place + 1e-9, far, 1.0))
    steep = tapered(
        (0.0, near, 1.0), (place, near, 1.0), (place + apart * np.spacing(place), far, 1.0)
    )
    assert first_bending_frequency(steep) == pytest.approx(first_bending_frequency(level), rel=1e-5)
    assert critical_launch_force(steep) == pytest.approx(critical_launch_force(level), rel=1e-5)


@given(
    places=st.lists(st.integers(0, 700), min_size=2, max_size=7, unique=True),
    figures=st.lists(st.tuples(*[st.floats(0.05, 20.0)] * 2), min_size=7, max_size=7),
)
@example(places=[166, 167], figures=[(18.4, 0.06), (0.05, 16.4)])
def test_a_tube_turned_round_is_as_fast(
    places: list[int], figures: list[tuple[float, float]]
) -> None:
    """However stiff and light, or heavy and weak, the end is at which one begins."""
    position = np.sort(np.array(places)) / 1000
    stiffness, mass = np.array(figures[: len(places)]).T
    uniform = stack([0.7, 0.7], [1.0, 1.0], [1.0, 1.0], elements=40)
    both_ways = Profile(
        position=np.stack([position, (0.7 - position)[::-1]]),
        stiffness=np.stack([stiffness, stiffness[::-1]]),
        mass=np.stack([mass, mass[::-1]]),
    )
    bending, moments = shape_of(both_ways, uniform.edges)
    tubes = dataclasses.replace(
        uniform, bending=bending, moments=moments, width=np.diff(uniform.edges)
    )
    there, back = natural_frequencies(tubes)[:, 0]
    assert there == pytest.approx(back, rel=1e-8)


def test_a_table_of_rear_cuts_past_a_neck_rises() -> None:
    tubes = tubes_of([cut(STEPPED, 0.76 - 0.002 * count, "rear") for count in range(40)])
    assert np.all(np.diff(natural_frequencies(tubes)[:, 0]) > 0)
    assert np.all(np.diff(buckling_forces(tubes)) > 0)


def test_a_stack_gives_what_each_gives() -> None:
    each = [cut(STEPPED, length, "rear") for length in (0.76, 0.74, 0.7)]
    together = tubes_of(each)
    assert natural_frequencies(together)[:, 0].tolist() == [
        first_bending_frequency(arrow) for arrow in each
    ]
    assert buckling_forces(together).tolist() == [critical_launch_force(arrow) for arrow in each]
