"""Columns of measures are written to the byte as single measures are."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from drawmark.fitting.units import DIMENSIONS, UNITS
from drawmark.rules.model import Measure
from drawmark.web.batch.measures import write_measures
from drawmark.web.batch.unit_codes import CODES
from drawmark.web.wire.render import NotFiniteError, render

KINDS = (*DIMENSIONS, "number", "percent")
figures = st.one_of(
    st.floats(1e-6, 1e4),
    st.floats(-1e18, 1e18).filter(lambda value: abs(value) > 1e-9),
    st.builds(
        lambda whole, places: (whole + 0.5) / 10**places, st.integers(0, 10**6), st.integers(0, 7)
    ),
)


def alone(value, measure, symbol):
    one = msgspec.structs.replace(measure, value=value)
    return msgspec.json.encode(render([one], {measure.kind: symbol})[0])


def symbols_for(draw, kind, count):
    known = [unit.symbol for unit in DIMENSIONS.get(kind, ())] or [""]
    return [draw(st.sampled_from(known)) for _ in range(count)]


@given(
    st.data(),
    st.sampled_from(KINDS),
    st.sampled_from([(False, False), (True, False), (False, True)]),
)
def test_a_column_is_written_as_each_of_its_figures(data, kind, rounding):
    values = data.draw(st.lists(figures, min_size=1, max_size=6))
    symbols = symbols_for(data.draw, kind, len(values))
    if data.draw(st.booleans()):
        symbols = symbols[:1] * len(values)
    codes = np.array([CODES[symbol] for symbol in symbols])
    chosen = int(codes[0]) if len(set(symbols)) == 1 else codes
    up, down = rounding
    measure = Measure(np.array(values), kind, up=up, down=down)
    items = np.array(data.draw(st.permutations(range(len(values)))))
    texts = write_measures(measure, items, lambda dimension: chosen)
    assert texts == [alone(values[at], measure, symbols[at]) for at in items.tolist()]


@given(st.data(), st.sampled_from(KINDS), figures)
def test_one_figure_for_all_is_written_for_each(data, kind, value):
    symbols = symbols_for(data.draw, kind, 3)
    codes = np.array([CODES[symbol] for symbol in symbols])
    measure = Measure(value, kind)
    texts = write_measures(measure, np.arange(3), lambda dimension: codes)
    assert texts == [alone(value, measure, symbol) for symbol in symbols]


@given(st.integers(0, 10**7), st.sampled_from(sorted(UNITS)))
@example(1, "in")
def test_halves_are_rounded_as_alone(whole, symbol):
    unit = UNITS[symbol]
    value = float(unit.to_si((whole + 0.5) / 10**unit.decimals))
    measure = Measure(np.array([value]), unit.dimension)
    texts = write_measures(measure, np.array([0]), lambda dimension: CODES[symbol])
    assert texts == [alone(value, measure, symbol)]


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize(
    ("kind", "unit"), [("length", "mm"), ("number", None), ("static_spine", "astm")]
)
def test_what_is_not_finite_is_not_written(value, kind, unit):
    measure = Measure(np.array([1.0, value]), kind)
    with pytest.raises(NotFiniteError):
        write_measures(measure, np.array([0, 1]), lambda dimension: CODES[unit])


def test_what_is_not_finite_in_its_unit_is_not_written():
    measure = Measure(np.array([1.0, 0.0]), "static_spine")
    with np.errstate(all="ignore"), pytest.raises(NotFiniteError):
        write_measures(measure, np.array([0, 1]), lambda dimension: CODES["astm"])
