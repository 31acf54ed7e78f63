"""Unit factors against their definitions and a general-purpose library of units."""

from __future__ import annotations

import pint
import pytest

from drawmark.fitting.units import (
    GRAIN,
    INCH,
    POUND,
    POUND_FORCE,
    STANDARD_GRAVITY,
    UNITS,
)

REGISTRY = pint.UnitRegistry()
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
}


@pytest.mark.parametrize(
    ("constant", "printed"),
    [
        pytest.param(INCH, "0.0254", id="inch"),
        pytest.param(POUND, "0.45359237", id="pound"),
        pytest.param(1000 * GRAIN, "0.06479891", id="grain in grams"),
        pytest.param(STANDARD_GRAVITY, "9.80665", id="standard gravity"),
        pytest.param(POUND_FORCE, "4.4482216152605", id="pound-force"),
    ],
)
def test_definition(constant, printed):
    """International yard and pound agreement of 1959, and what follows: exact by definition."""
    assert constant == pytest.approx(float(printed), rel=1e-15)


def test_grains_in_a_pound():
    """7000 to the pound, exact by definition."""
    grains = POUND / GRAIN
    assert grains == pytest.approx(7000, rel=1e-15)


@pytest.mark.parametrize("symbol", sorted(PINT))
def test_factor_against_pint(symbol):
    """pint is the oracle; exact by definition."""
    expected = REGISTRY.Quantity(1.0, PINT[symbol]).to_base_units().magnitude
    assert UNITS[symbol].to_si(1.0) == pytest.approx(expected, rel=1e-12)


def test_hertz_is_a_cycle_a_second():
    """pint counts a hertz in radians, so the definition stands here: exact."""
    assert UNITS["Hz"].to_si(1.0) == 1.0
    assert REGISTRY.Quantity(1.0, "1/second").to_base_units().magnitude == 1.0


@pytest.mark.parametrize(
    ("symbol", "value", "load", "span", "deflection"),
    [
        pytest.param("astm", 500.0, 1.94, 28, 0.500, id="28 in, 1.94 lb (secondary)"),
        pytest.param("wood-lb", 50.0, 2.0, 26, 0.520, id="26 in, 2 lb (secondary)"),
    ],
)
def test_spine_against_pint(symbol, value, load, span, deflection):
    """P L^3 / 48 of the centre-loaded beam of any handbook, with pint's units."""
    pull, length = REGISTRY.Quantity(load, "pound_force"), REGISTRY.Quantity(span, "inch")
    stiffness = pull * length**3 / (48 * REGISTRY.Quantity(deflection, "inch"))
    expected = stiffness.to("newton * meter**2").magnitude
    assert UNITS[symbol].to_si(value) == pytest.approx(expected, rel=1e-12)


def test_every_unit_is_checked():
    assert set(UNITS) == {*PINT, "Hz", "astm", "wood-lb"}
