"""How units convert, and what the wire keeps of them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawmark.fitting.units import DIMENSIONS, UNITS

SYMBOLS = sorted(UNITS)


@given(st.sampled_from(SYMBOLS), st.floats(1e-3, 1e4))
def test_there_and_back(symbol, value):
    unit = UNITS[symbol]
    assert unit.from_si(unit.to_si(value)) == pytest.approx(value, rel=1e-14)


@given(st.sampled_from(SYMBOLS), st.floats(1e-3, 1e3), st.floats(1e-3, 1e3))
def test_order_is_kept_or_turned(symbol, first, second):
    unit = UNITS[symbol]
    low, high = sorted((first, second))
    if unit.reciprocal:
        assert unit.to_si(low) >= unit.to_si(high)
    else:
        assert unit.to_si(low) <= unit.to_si(high)


@pytest.mark.parametrize("symbol", SYMBOLS)
def test_columns_convert_like_single_figures(symbol):
    unit, values = UNITS[symbol], [0.5, 1.0, 28.0, 700.0]
    column = unit.to_si(np.array(values))
    assert column.tolist() == [unit.to_si(value) for value in values]
    assert unit.from_si(column).tolist() == [unit.from_si(float(one)) for one in column]


@pytest.mark.parametrize(
    ("symbol", "resolution"),
    [
        ("mm", 0.01),
        ("cm", 0.001),
        ("m", 0.00001),
        ("in", 0.001),
        ("ft", 0.0001),
        ("g", 0.001),
        ("gr", 0.01),
        ("Hz", 0.01),
    ],
)
def test_resolution_of_the_wire(symbol, resolution):
    assert UNITS[symbol].resolution == pytest.approx(resolution, rel=1e-12)


@pytest.mark.parametrize("symbol", [unit.symbol for unit in DIMENSIONS["length"]])
def test_no_length_is_kept_more_coarsely_than_a_twentieth_of_a_millimetre(symbol):
    unit = UNITS[symbol]
    assert unit.to_si(unit.resolution) < 5e-5


def test_only_deflection_runs_the_other_way():
    assert [symbol for symbol in SYMBOLS if UNITS[symbol].reciprocal] == ["astm"]


def test_every_unit_has_its_dimension_and_its_name():
    listed = [unit for units in DIMENSIONS.values() for unit in units]
    assert sorted(unit.symbol for unit in listed) == SYMBOLS
    assert all(unit.dimension == name for name, units in DIMENSIONS.items() for unit in units)
    assert len({unit.name for unit in listed}) == len(listed)
