"""Where each constant comes from, and how figures compare with limits."""

from __future__ import annotations

import ast
import inspect
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawmark.fitting import limits, units
from drawmark.fitting.draw import height_growth
from drawmark.fitting.limits import less, longer, more, shorter
from drawmark.fitting.sources import SOURCES

MODULES = (limits, units, height_growth)
KEY = re.compile(r"# ([a-z0-9-]+)(;.*)?$", re.MULTILINE)
EXACT = {"INCH", "POUND", "GRAIN", "STANDARD_GRAVITY", "POUND_FORCE", "MONTHS_A_YEAR"}
"""By definition, so without a source: validation/test_units.py holds the units to theirs."""
TABLES = {"UNITS", "DIMENSIONS"}


def constants_of(module):
    """Each public constant of a module, and the lines that set it."""
    lines = inspect.getsource(module).splitlines()
    return {
        node.target.id: "\n".join(lines[node.lineno - 1 : node.end_lineno])
        for node in ast.parse("\n".join(lines)).body
        if isinstance(node, ast.AnnAssign) and node.target.id[0] != "_"
    }


CONSTANTS = {
    name: lines
    for module in MODULES
    for name, lines in constants_of(module).items()
    if name not in TABLES
}


@pytest.mark.parametrize("name", sorted(CONSTANTS.keys() - EXACT))
def test_a_constant_names_its_source(name):
    found = KEY.search(CONSTANTS[name])
    assert found, CONSTANTS[name]
    assert found[1] in SOURCES


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_no_constant_goes_unseen(module):
    kinds = int | float | tuple
    found = {name for name, value in vars(module).items() if isinstance(value, kinds)}
    assert {name for name in found if name.isupper() and name[0] != "_"} <= CONSTANTS.keys()


def test_what_is_exact_is_there():
    assert CONSTANTS.keys() >= EXACT


# A micrometre for lengths, a thousand-millionth for other figures: choices of this project.
@pytest.mark.parametrize(
    ("tell", "figure", "told"),
    [
        pytest.param(shorter, 0.7 - 1.1e-6, True, id="shorter"),
        pytest.param(shorter, 0.7 - 0.9e-6, False, id="hardly shorter"),
        pytest.param(shorter, 0.7, False, id="as long, is it shorter"),
        pytest.param(longer, 0.7 + 1.1e-6, True, id="longer"),
        pytest.param(longer, 0.7 + 0.9e-6, False, id="hardly longer"),
        pytest.param(longer, 0.7, False, id="as long, is it longer"),
        pytest.param(less, 0.7 * (1 - 1.1e-9), True, id="less"),
        pytest.param(less, 0.7 * (1 - 0.9e-9), False, id="hardly less"),
        pytest.param(less, 0.7, False, id="as much, is it less"),
        pytest.param(more, 0.7 * (1 + 1.1e-9), True, id="more"),
        pytest.param(more, 0.7 * (1 + 0.9e-9), False, id="hardly more"),
        pytest.param(more, 0.7, False, id="as much, is it more"),
    ],
)
def test_what_hardly_differs_is_the_same(tell, figure, told):
    assert tell(figure, 0.7) is told
    assert tell(np.array([figure, 0.7]), 0.7).tolist() == [told, False]


@given(st.floats(0.001, 2.0), st.floats(0.001, 2.0))
def test_a_figure_lies_on_one_side_at_most(figure, limit):
    assert not (shorter(figure, limit) and longer(figure, limit))
    assert not (less(figure, limit) and more(figure, limit))
    assert shorter(figure, limit) == longer(limit, figure) or abs(figure - limit) < 2e-6


@given(st.integers(500_000, 900_000), st.integers(0, 200_000), st.sampled_from(["mm", "cm", "m"]))
def test_a_micrometre_is_the_tolerance_whatever_the_sum(draw, growth, unit):
    """Draw and growth in whole micrometres: one less than the sum is the same, two are not."""
    scale = {"mm": 1e3, "cm": 1e4, "m": 1e6}[unit]
    to_si = units.UNITS[unit].to_si
    floor = to_si(draw / scale) + to_si(growth / scale) + limits.LEAST_OVERHANG
    least = draw + growth + 25_400
    assert not shorter(to_si((least - 1) / scale), floor)
    assert shorter(to_si((least - 2) / scale), floor)
    assert not longer(to_si((least + 1) / scale), floor)
    assert longer(to_si((least + 2) / scale), floor)


def test_an_arrow_a_micrometre_below_its_floor_is_no_shorter():
    """A draw of 76.0531 cm, 10 mm of growth and an inch: 795.931 mm."""
    floor = 0.760531 - limits.STANDARD_OFFSET + 0.010 + limits.STANDARD_OFFSET + 0.0254
    assert not shorter(0.79593, floor)
    assert shorter(0.795929, floor)
