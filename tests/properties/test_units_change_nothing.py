"""The same request in other units gives the same answer, at the wire's resolution."""

from __future__ import annotations

import copy
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders.wire import q
from drawmark.fitting.units import DIMENSIONS, UNITS
from drawmark.web import create_app
from drawmark.web.batch.definition import BATCH_PATH
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.installed_rules import core_rules

CLIENT = create_app(rules=core_rules()).test_client()
# Exact by definition: inch 25.4 mm, pound 0.45359237 kg, 7000 grains to the pound, standard
# gravity 9.80665 m/s^2.
INCH, POUND, GRAVITY = Fraction("0.0254"), Fraction("0.45359237"), Fraction("9.80665")
GRAIN = POUND / 7000
FACTORS = {
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "m": Fraction(1),
    "in": INCH,
    "ft": 12 * INCH,
    "g": Fraction(1, 1000),
    "kg": Fraction(1),
    "gr": GRAIN,
    "oz": POUND / 16,
    "lb": POUND,
    "N": Fraction(1),
    "lbf": POUND * GRAVITY,
    "g/m": Fraction(1, 1000),
    "gr/in": GRAIN / INCH,
}
# Deflection by the handbook, P L^3 / (48 E I), of both tests of static spine:
# 1.94 lb on a 28 in span in thousandths of an inch, 26 over that of 2 lb on 26 in.
SPINES = 26 * 1000 * (Fraction("1.94") * 28**3) / (2 * Fraction(26) ** 3)
REPORTED = {
    dimension: units[0].symbol
    for dimension, units in DIMENSIONS.items()
    if dimension != "frequency"
}


def convert(value, unit, wanted):
    figure = Fraction(str(value))
    if unit == wanted:
        return value
    if {unit, wanted} == {"astm", "wood-lb"}:
        return float(SPINES / figure)
    return float(figure * FACTORS[unit] / FACTORS[wanted])


def in_units(tree, wanted):
    """Give each quantity whose dimension is named in the unit named."""
    if isinstance(tree, list):
        return [in_units(one, wanted) for one in tree]
    if not isinstance(tree, dict):
        return tree
    if tree.keys() == {"value", "unit"}:
        unit = wanted.get(UNITS[tree["unit"]].dimension, tree["unit"])
        return {"value": convert(tree["value"], tree["unit"], unit), "unit": unit}
    return {name: in_units(value, wanted) for name, value in tree.items()}


def ask(path, body):
    body = copy.deepcopy(body)
    for one in body["items"] if path == BATCH_PATH else [body]:
        one["report_in"] = REPORTED
    response = CLIENT.post(f"/v1/{path}", json=body)
    assert response.status_code == 200, response.data
    return response.get_json()


def differences(one, other, way=""):
    """Name what differs by more than one step of the resolution."""
    if isinstance(one, dict) and one.keys() == {"value", "unit"}:
        if way == "/reading/distance":  # it keeps the unit in which it came
            figure = convert(one["value"], one["unit"], other["unit"])
            one = {"value": figure, "unit": other["unit"]}
        step = UNITS[one["unit"]].resolution
        same = one["unit"] == other["unit"] and abs(one["value"] - other["value"]) <= 1.001 * step
        return [] if same else [f"{way}: {one} {other}"]
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        return [
            each for name in one for each in differences(one[name], other[name], f"{way}/{name}")
        ]
    if isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        pairs = enumerate(zip(one, other, strict=True))
        return [each for at, pair in pairs for each in differences(*pair, f"{way}/{at}")]
    if type(one) is type(other) is float:
        # plain figures have four decimals, per cents two
        return [] if abs(one - other) <= 0.0101 else [f"{way}: {one} {other}"]
    return [] if one == other else [f"{way}: {one} {other}"]


UNIT_OF = [(unit.dimension, symbol) for symbol, unit in UNITS.items() if symbol != "Hz"]


@pytest.mark.parametrize("path", sorted(EXAMPLES))
@pytest.mark.parametrize(("dimension", "symbol"), UNIT_OF, ids=lambda name: name)
def test_example_in_one_unit_of_a_dimension(path, dimension, symbol):
    body = EXAMPLES[path]
    assert differences(ask(path, body), ask(path, in_units(body, {dimension: symbol}))) == []


def fitting_of(draw, length, span, force, spine, mass, least, shaft):
    """Make a fit check with a quantity of each dimension, on grids that meet each limit exactly."""
    body = copy.deepcopy(EXAMPLES["fit-check"])
    body["archer"]["draw_length"] = q(draw, "in")
    body["archer"]["arm_span"] = q(span, "in")
    body["archer"]["growth_allowance"] = q(0.5, "in")
    body["bow"].update(
        draw_weight=q(force, "lbf"), maximum_draw=q(28, "in"), minimum_arrow_mass=q(least, "gr")
    )
    body["arrow"].update(length=q(length, "in"), mass=q(mass, "gr"))
    body["arrow"]["shaft"] = {
        "static_spine": q(spine, "astm"),
        "mass_per_length": q(6.5, "gr/in"),
        "outside_diameter": q(shaft, "mm"),
    }
    return body


UNIT_CHOICES = st.fixed_dictionaries(
    {
        name: st.sampled_from([unit.symbol for unit in units])
        for name, units in DIMENSIONS.items()
        if name != "frequency"
    }
)


@settings(max_examples=120)
@given(
    st.integers(220, 320).map(lambda tenths: tenths / 10),
    st.integers(240, 340).map(lambda tenths: tenths / 10),
    st.integers(56, 80),
    st.sampled_from([10, 20, 30, 40, 60, 70]),
    st.sampled_from([300, 500, 700, 1000]),
    # 5 grains a pound-force of each of the forces, and the limits of the maker, among others
    st.sampled_from([150, 200, 250, 300, 350]),
    st.sampled_from([150, 200, 250, 300, 350]),
    st.sampled_from([9.2, 9.3, 9.4]),
    UNIT_CHOICES,
)
def test_fit_check_in_mixed_units(draw, length, span, force, spine, mass, least, shaft, units):
    body = fitting_of(draw, length, span, force, spine, mass, least, shaft)
    other = in_units(body, units)
    assert differences(ask("fit-check", body), ask("fit-check", other)) == []


LENGTHS = [unit.symbol for unit in DIMENSIONS["length"]]


def verdict_at_the_floor(draw, growth, units, spare=0):
    """Judge an arrow that reaches past the back by the inch asked for, and by what is to spare.

    All in thousandths of an inch; draw, growth and arrow each said in a unit of its own.
    """
    drawn, grown, length = (
        in_units(q(figure / 1000, "in"), {"length": unit})
        for figure, unit in zip((draw, growth, draw + growth + 1000 + spare), units, strict=True)
    )
    archer = {"draw_length": drawn, "draw_length_convention": "standard"}
    body = {
        "archer": {**archer, "growth_allowance": grown},
        "bow": {"kind": "recurve"},
        "arrow": {"length": length},
    }
    return ask("fit-check", body)["verdict"]


@pytest.mark.parametrize("unit", LENGTHS)
@pytest.mark.parametrize("draw", [22_000, 24_300, 26_875, 28_000, 28_125, 30_100])
def test_exactly_at_the_floor_in_one_unit(draw, unit):
    """Near the minimum in every unit; a thousandth of an inch less is too short in every unit."""
    assert verdict_at_the_floor(draw, 500, (unit,) * 3) == "caution"
    assert verdict_at_the_floor(draw, 500, (unit,) * 3, -1) == "stop"


@settings(max_examples=120)
@given(
    st.integers(20_000, 34_000),
    st.integers(0, 2_000),
    st.tuples(*(st.sampled_from(LENGTHS) for _ in range(3))),
)
def test_exactly_at_the_floor_in_mixed_units(draw, growth, units):
    assert verdict_at_the_floor(draw, growth, units) == "caution"
    assert verdict_at_the_floor(draw, growth, units, -1) == "stop"


SPINE_BODY = {
    "arrow": EXAMPLES["fit-check"]["arrow"],
    "bow": EXAMPLES["fit-check"]["bow"],
    "changes": {"length": q(28.5, "in"), "point_mass": q(100, "gr")},
}


@settings(max_examples=60)
@given(
    st.sampled_from(["spine", "balance"]),
    st.integers(300, 1000),
    st.integers(60, 200),
    st.integers(40, 110),
    UNIT_CHOICES,
)
def test_stiffness_and_balance_in_mixed_units(path, spine, point, per_length, units):
    body = copy.deepcopy(SPINE_BODY if path == "spine" else {"arrow": SPINE_BODY["arrow"]})
    body["arrow"]["shaft"].update(
        static_spine=q(spine, "astm"), mass_per_length=q(per_length / 10, "gr/in")
    )
    body["arrow"]["point"]["mass"] = q(point, "gr")
    assert differences(ask(path, body), ask(path, in_units(body, units))) == []
