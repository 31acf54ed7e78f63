"""Written values into SI, and back."""

import random
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawmark import rules
from drawmark.fitting import fields, model
from drawmark.fitting.field_kinds import Part, Quantity
from drawmark.fitting.units import DIMENSIONS, UNITS
from drawmark.rules.random_cases import random_instance
from drawmark.rules.text_values import ReadingError, read, read_quantity, write_quantity

LENGTH = Quantity(doc="d", dimension="length", low=0.0, high=1.0)


@pytest.mark.parametrize(
    ("written", "metres"),
    [
        ("28 in", 0.7112),  # 25.4 mm to the inch, exactly
        ("711.2 mm", 0.7112),
        ("  1.5   ft ", 0.4572),
        ("+2 cm", 0.02),
        ("1 m", 1.0),
        ("0 in", 0.0),
    ],
)
def test_quantities(written, metres):
    assert read_quantity(LENGTH, written, "k") == pytest.approx(metres, rel=1e-15)


@pytest.mark.parametrize(
    "written",
    [
        *("28", "in", "28in", "28 inches", "1e3 mm", "0x1 m", ".5 m", "1. m", "1,5 cm", "28 in in"),
        *("nan m", "inf m", "", 28, 28.0, True, None, {"value": 28, "unit": "in"}, ["28 in"]),
    ],
)
def test_anything_else_is_no_quantity(written):
    with pytest.raises(ReadingError, match=r"^k: (is|has the unit) .* not a text such as"):
        read_quantity(LENGTH, written, "k")


@pytest.mark.parametrize("symbol", [unit.symbol for unit in DIMENSIONS["length"]])
def test_both_ends_of_a_range_can_be_written_in_every_unit(symbol):
    for low, high in ((0.30, 1.10), (-0.15, 0.35)):
        spec = Quantity(doc="d", dimension="length", low=low, high=high)
        for end in (low, high):
            figure = UNITS[symbol].from_si(end)
            assert read_quantity(spec, f"{figure:.15f} {symbol}", "k") == pytest.approx(end)


@given(st.floats(0.001, 0.9), st.sampled_from(sorted(UNITS)))
def test_what_is_written_is_near_what_was_meant(value, symbol):
    unit = UNITS[symbol]
    figure, written_symbol = write_quantity(value, symbol).split()
    assert written_symbol == symbol
    assert abs(float(figure) - unit.from_si(value)) <= unit.resolution * 0.5001


@pytest.mark.parametrize("cls", [model.Archer, model.Bow, model.Arrow, model.Shaft])
def test_random_instances_are_within_their_declarations(cls):
    rng = random.Random(3)
    for _ in range(50):
        made = random_instance(cls, rng)
        for name, spec in fields.specs_of(cls).items():
            value = getattr(made, name)
            if value is None or isinstance(spec, Part):
                continue
            for one in value if spec.is_list else [value]:
                assert spec.fault_in(one) is None


@dataclass(frozen=True)
class Settings:
    least: float = rules.number(0.0, 9.0, "Least.")

    def __post_init__(self):
        if self.least > 5:
            raise ValueError("least is\nabove five")
        if self.least < 1:
            return self.least.no_such_thing


@pytest.mark.parametrize(
    ("least", "words"),
    [(7, "k: least is above five"), (0.5, "k: AttributeError: 'float' object has no")],
)
def test_settings_that_the_plugin_refuses_are_one_line(least, words):
    with pytest.raises(ReadingError) as caught:
        read(Settings, {"least": least}, "k")
    assert str(caught.value).startswith(words)
    assert "\n" not in str(caught.value)
