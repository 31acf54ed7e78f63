"""Figures leave the service in a unit, at its resolution, on the safe side, and finite."""

from __future__ import annotations

import math

import pytest

from drawmark.rules.model import Measure
from drawmark.web.wire.render import NotFiniteError, render


def rendered(measure, **units):
    return render({"figure": measure}, units)["figure"]


@pytest.mark.parametrize(
    ("measure", "units", "figure"),
    [
        pytest.param(Measure(0.5), {}, {"value": 500.0, "unit": "mm"}, id="default unit"),
        # 1 in is 25.4 mm exactly (international yard and pound)
        pytest.param(
            Measure(0.7239), {"length": "in"}, {"value": 28.5, "unit": "in"}, id="inches, no dust"
        ),
        pytest.param(
            Measure(0.72391, up=True), {"length": "in"}, {"value": 28.501, "unit": "in"}, id="up"
        ),
        pytest.param(
            Measure(0.72391, down=True), {"length": "in"}, {"value": 28.5, "unit": "in"}, id="down"
        ),
        pytest.param(
            Measure(0.7239 + 4e-7, up=True),
            {"length": "in"},
            {"value": 28.5, "unit": "in"},
            id="up, within the tolerance",
        ),
        pytest.param(
            Measure(-0.0000001, "length"), {}, {"value": 0.0, "unit": "mm"}, id="no negative zero"
        ),
        # a grain is 64.79891 mg exactly
        pytest.param(
            Measure(0.00583190, "mass"), {"mass": "gr"}, {"value": 90.0, "unit": "gr"}, id="grains"
        ),
        pytest.param(Measure(1 / 3, "number"), {}, 0.3333, id="number"),
        pytest.param(Measure(12.3456, "percent"), {}, 12.35, id="per cent"),
    ],
)
def test_figure(measure, units, figure):
    assert rendered(measure, **units) == figure


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("kind", ["length", "number", "percent"])
def test_what_is_not_finite_stays_inside(value, kind):
    with pytest.raises(NotFiniteError):
        rendered(Measure(value, kind))


def test_measures_are_found_at_any_depth():
    tree = {"a": [{"b": Measure(1.0)}, "text", [Measure(2.0, "number")]]}
    assert render(tree, {}) == {"a": [{"b": {"value": 1000.0, "unit": "mm"}}, "text", [2.0]]}
