from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders.model import BARRELLED, FULL, PLAIN, arrows, plain
from builders.statics import deflection_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.arrow_parts import CutEnd, cut
from drawmark.fitting.mechanics.beam import (
    buckling_forces,
    first_bending_frequency,
    frequencies,
    natural_frequencies,
)
from drawmark.fitting.mechanics.elements import mass_blocks
from drawmark.fitting.mechanics.tubes import stack, tubes_of
from drawmark.fitting.model import Arrow


def test_a_stack_gives_what_each_gives() -> None:
    each = [PLAIN, FULL, cut(FULL, 0.7), plain(nock=None)]
    assert frequencies(each).tolist() == pytest.approx(
        [first_bending_frequency(arrow) for arrow in each], rel=1e-9
    )
    assert buckling_forces(tubes_of(each)).tolist() == pytest.approx(
        [float(buckling_forces(tubes_of([arrow]))[0]) for arrow in each], rel=1e-9
    )


@given(arrow=arrows(centre=True))
@settings(max_examples=40)
def test_twelve_elements_are_enough(arrow: Arrow) -> None:
    fine = natural_frequencies(tubes_of((arrow,), elements=40))[0, 0]
    assert first_bending_frequency(arrow) == pytest.approx(fine, rel=1e-4)


@given(arrow=arrows(centre=True), share=st.floats(0.7, 0.999))
@settings(max_examples=60)
def test_a_cut_never_lowers_the_frequency(arrow: Arrow, share: float) -> None:
    assert arrow.length is not None
    before, after = frequencies((arrow, cut(arrow, arrow.length * share)))
    assert after >= before


@pytest.mark.parametrize("end", ["front", "rear"])
def test_a_cut_of_a_barrelled_shaft_raises_the_frequency(end: CutEnd) -> None:
    found = frequencies([cut(BARRELLED, length, end) for length in (0.762, 0.75, 0.72, 0.6)])
    assert np.all(np.diff(found) > 0)


def test_mass_blocks_hold_the_whole_mass() -> None:
    tubes = tubes_of((FULL, BARRELLED))
    across = np.array([1.0, 0.0, 1.0, 0.0])
    masses = (across @ mass_blocks(tubes) @ across).sum(axis=1)
    assert masses == pytest.approx(tubes.mass, rel=1e-12)


@pytest.mark.parametrize("place", [-0.02, 0.0, 0.31, 0.7, 0.73])
def test_a_lump_turns_with_the_tube(place: float) -> None:
    """A rigid turn about the rear end: the lump's energy is m x^2 wherever it sits."""
    tubes = stack([0.7], [1.0], [0.0], lumps=[[(0.01, place)]])
    places = tubes.edges[0]
    turned = 0.0
    for block, start, end in zip(mass_blocks(tubes)[0], places, places[1:], strict=False):
        across = np.array([start, 1.0, end, 1.0])
        turned += across @ block @ across
    assert turned == pytest.approx(0.01 * place**2, rel=1e-9, abs=1e-12)


def test_a_narrow_span_is_a_lump() -> None:
    lump = stack([0.7], [1.0], [0.02], lumps=[[(0.01, 0.3)]])
    span = stack([0.7], [1.0], [0.02], spans=[[(0.01, 0.3 - 1e-5, 0.3 + 1e-5)]])
    assert natural_frequencies(span)[0, 0] == pytest.approx(
        natural_frequencies(lump)[0, 0], rel=1e-7
    )


@pytest.mark.parametrize("length", [0.6, 0.75])
def test_a_level_profile_bends_as_a_uniform_shaft(length: float) -> None:
    assert BARRELLED.shaft is not None
    assert BARRELLED.shaft.stations is not None
    level = tuple(
        dataclasses.replace(station, relative_stiffness=1.0, relative_mass=1.0)
        for station in BARRELLED.shaft.stations
    )
    arrow = plain(shaft=dataclasses.replace(BARRELLED.shaft, stations=level), length=length)
    assert deflection_of(arrow) == pytest.approx(deflection_of(plain(length=length)), rel=1e-12)
    assert first_bending_frequency(arrow) == pytest.approx(
        first_bending_frequency(plain(length=length)), rel=3e-5
    )


def test_digits_stay() -> None:
    """Our own digits, against change by accident."""
    assert first_bending_frequency(PLAIN) == pytest.approx(67.753965, rel=1e-6)
    assert first_bending_frequency(BARRELLED) == pytest.approx(68.072790, rel=1e-7)


@pytest.mark.parametrize("field", ["length", "shaft", "point"])
def test_needs(field: str) -> None:
    with pytest.raises(FittingError, match=f"arrow.{field}"):
        first_bending_frequency(dataclasses.replace(PLAIN, **{field: None}))
