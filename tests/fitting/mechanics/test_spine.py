from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders.model import BARRELLED, FULL, PLAIN, arrows, plain
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics import beam, spine
from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.beam import first_bending_frequency
from drawmark.fitting.mechanics.launch import critical_launch_force
from drawmark.fitting.mechanics.spine import (
    cut_lengths,
    cuts,
    log_equivalent_spine,
    states,
)
from drawmark.fitting.model import Arrow, Fletching
from drawmark.fitting.units import INCH, POUND_FORCE, UNITS


def with_spine(arrow: Arrow, stiffness: float) -> Arrow:
    assert arrow.shaft is not None
    shaft = dataclasses.replace(arrow.shaft, static_spine=stiffness)
    return dataclasses.replace(arrow, shaft=shaft)


@pytest.mark.parametrize("arrow", [PLAIN, FULL, BARRELLED], ids=["plain", "full", "barrelled"])
def test_the_arrow_itself_is_its_own_equivalent(arrow: Arrow) -> None:
    assert arrow.shaft is not None
    (same,) = states(arrow, [arrow], 40 * POUND_FORCE)
    assert same.equivalent_by_vibration == pytest.approx(arrow.shaft.static_spine, rel=1e-9)
    assert same.equivalent_by_launch == pytest.approx(arrow.shaft.static_spine, rel=1e-9)
    assert same.static_spine == pytest.approx(arrow.shaft.static_spine, rel=1e-12)
    assert same.draw_weight_shift == 0.0
    assert same.launch_load == pytest.approx(40 * POUND_FORCE / same.critical_launch_force)


@given(arrow=arrows(centre=True), share=st.floats(0.75, 1.0))
@settings(max_examples=30)
def test_equivalent_spine_is_what_it_says(arrow: Arrow, share: float) -> None:
    assert arrow.length is not None
    after = cut(arrow, arrow.length * share)
    (state,) = states(arrow, [after])
    by_vibration = with_spine(arrow, state.equivalent_by_vibration)
    assert first_bending_frequency(by_vibration) == pytest.approx(
        state.first_bending_frequency, rel=1e-8
    )
    by_launch = with_spine(arrow, state.equivalent_by_launch)
    assert critical_launch_force(by_launch) == pytest.approx(state.critical_launch_force, rel=1e-9)
    assert state.launch_load is None


def test_a_table_is_one_solve(monkeypatch: pytest.MonkeyPatch) -> None:
    solves = []
    solve = beam.frequencies

    def counted(every: tuple[Arrow, ...]) -> object:
        solves.append(len(every))
        return solve(every)

    monkeypatch.setattr(beam, "frequencies", counted)
    table = states(PLAIN, cuts(PLAIN, 0.25 * INCH, 25 * INCH, "front"), 40 * POUND_FORCE)
    assert solves == [21]
    assert [round(state.length / INCH, 3) for state in table] == [
        30 - 0.25 * step for step in range(1, 21)
    ]
    stiffness = [state.equivalent_by_launch for state in table]
    assert stiffness == sorted(stiffness)


@pytest.mark.parametrize(
    ("step", "to_length", "lengths"),
    [
        (0.01, 0.73, [0.75, 0.74, 0.73]),
        (0.02, 0.73, [0.74, 0.73]),
        (0.5, 0.73, [0.73]),
        (0.01, 0.76, [0.76]),
    ],
)
def test_cut_lengths(step: float, to_length: float, lengths: list[float]) -> None:
    assert cut_lengths(0.76, step, to_length) == pytest.approx(lengths)


@pytest.mark.parametrize(("step", "to_length"), [(0.01, 0.77), (0.0, 0.7), (1e-4, 0.7)])
def test_cut_lengths_refused(step: float, to_length: float) -> None:
    with pytest.raises(FittingError):
        cut_lengths(0.76, step, to_length)


@pytest.mark.parametrize("end", ["front", "rear"])
def test_a_cut_of_a_barrelled_shaft(end: spine.CutEnd) -> None:
    table = states(BARRELLED, cuts(BARRELLED, 0.02, 0.70, end))
    assert table[-1].static_spine is None
    assert table[0].static_spine is not None
    assert (table[0].static_spine > 5.0923) == (end == "front")
    assert table[-1].equivalent_by_vibration > table[0].equivalent_by_vibration


class TestManyLengths:
    @pytest.mark.parametrize("arrow", [FULL, BARRELLED], ids=["full", "barrelled"])
    def test_agree_with_states(self, arrow: Arrow) -> None:
        lengths = [0.76, 0.74, 0.7]
        vibration, launch = log_equivalent_spine(arrow, lengths)
        for index, state in enumerate(states(arrow, [cut(arrow, place) for place in lengths])):
            figures = (state.equivalent_by_vibration, state.equivalent_by_launch)
            expected = [math.log(float(UNITS["astm"].from_si(value))) for value in figures]
            assert [vibration[index], launch[index]] == pytest.approx(expected, abs=1e-9)

    def test_shorter_acts_stiffer(self) -> None:
        vibration, launch = log_equivalent_spine(PLAIN, np.linspace(0.6, 0.76, 30))
        assert np.all(np.diff(vibration) > 0)
        assert np.all(np.diff(launch) > 0)
        assert vibration[-1] < launch[-1] < math.log(500)

    def test_longer_only_without_stations(self) -> None:
        vibration, _ = log_equivalent_spine(PLAIN, [0.8])
        assert vibration[0] > math.log(500)
        with pytest.raises(FittingError, match="longer"):
            log_equivalent_spine(BARRELLED, [0.8])


@pytest.mark.parametrize(
    ("arrow", "match"),
    [
        (plain(shaft=None), "static_spine"),
        (plain(point=None), r"arrow\.point\.mass"),
        (plain(fletching=Fletching(mass=0.001)), r"arrow\.fletching\.rear_edge"),
    ],
)
def test_needs(arrow: Arrow, match: str) -> None:
    with pytest.raises(FittingError, match=match):
        states(PLAIN, [arrow])
