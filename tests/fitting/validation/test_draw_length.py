"""Draw length, prediction factor and units against sources outside the project."""

from __future__ import annotations

import math

import pint
import pytest
from scipy import stats

from drawmark.fitting.draw import exceedance_per_thousand, prediction_factor, spread_of
from drawmark.fitting.model import Archer, Bow
from drawmark.fitting.units import INCH, UNITS


def test_amo_worked_example():
    """AMO Standards, Field Publication FP-3 (2000), read: 26 1/4 in to the pivot is 28 in."""
    archer = Archer(draw_length=28 * INCH, draw_length_convention="standard")
    mean = spread_of(archer, Bow(kind="recurve")).mean
    assert mean / INCH == pytest.approx(26.25, abs=1e-9)


@pytest.mark.parametrize(("count", "printed"), [(12, 4.0), (20, 3.5), (30, 3.3)])
def test_prediction_factor_as_printed(count, printed):
    """Standard prediction interval, printed to a tenth; scipy.stats as the oracle."""
    factor = prediction_factor(float(count))
    assert round(factor, 1) == printed
    oracle = stats.t.ppf(0.99865, count - 1) * math.sqrt(1 + 1 / count)
    assert factor == pytest.approx(oracle, rel=1e-9)


@pytest.mark.parametrize(("count", "printed"), [(6, 19.5), (12, 7.5), (30, 3.1)])
def test_three_deviations_are_exceeded_more_often_than_a_normal_table_says(count, printed):
    """Mean + 3 s with s from few draws: numbers in a thousand (standard prediction interval)."""
    # The project adds a micrometre to the deviation; a metre hides it.
    assert round(exceedance_per_thousand(3000.0, 0.0, 1000.0, count), 1) == printed


PINT = {
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "in": "inch",
    "ft": "foot",
    "g": "gram",
    "kg": "kilogram",
    "gr": "grain",
    "oz": "ounce",
    "lb": "pound",
    "N": "newton",
    "lbf": "pound_force",
    "g/m": "gram/meter",
    "gr/in": "grain/inch",
    "Hz": "hertz",
}


@pytest.mark.parametrize("symbol", sorted(PINT))
def test_unit_factor_against_pint(symbol):
    registry = pint.UnitRegistry()
    expected = registry.Quantity(1, PINT[symbol]).to_base_units().magnitude
    if symbol == "Hz":
        expected = 1.0
    assert UNITS[symbol].to_si(1.0) == pytest.approx(expected, rel=1e-12)


def test_every_unit_but_spine_is_checked():
    assert {symbol for symbol in UNITS if UNITS[symbol].dimension != "static_spine"} == set(PINT)
