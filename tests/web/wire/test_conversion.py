"""Accepted bodies become dataclasses in SI, and choose the units of the answer."""

from __future__ import annotations

import copy
import dataclasses

import msgspec
import pytest

from builders.wire import q
from drawmark.fitting import fields
from drawmark.fitting.model import Archer
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.checker import type_of
from drawmark.web.wire.conversion import converter_of
from drawmark.web.wire.quantity_field import OutOfRangeError
from drawmark.web.wire.schemas import schema_of


def converted(cls, body):
    return converter_of(cls)(msgspec.convert(body, type_of(schema_of(cls))), {})


def test_what_is_not_given_has_the_default_of_the_dataclass():
    assert converted(Archer, {}) == Archer()


def test_lists_become_tuples_in_si():
    archer = converted(Archer, {"draws": [q(700, "mm"), q(1, "m")]})
    assert archer.draws == (pytest.approx(0.7), 1.0)


def test_beyond_the_range_of_the_unit_is_left_to_the_schema():
    with pytest.raises(OutOfRangeError):
        converted(Archer, {"draw_length": q(28.5, "mm")})


@dataclasses.dataclass(frozen=True, kw_only=True)
class Loose:
    """Inputs of a plugin: no slots, one field, a default in SI."""

    margin: float = fields.length(0.0, 0.1, "Margin.", default=0.02)

    def __post_init__(self):
        assert self.margin >= 0


@pytest.mark.parametrize(("body", "margin"), [({}, 0.02), ({"margin": q(1, "in")}, 0.0254)])
def test_dataclass_of_a_plugin(body, margin):
    assert converted(Loose, body) == Loose(margin=margin)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Named:
    """Inputs whose names could be those of the converter itself."""

    units: float = fields.length(0.0, 0.1, "First.", default=0.02)
    struct: float | None = fields.length(0.0, 0.1, "Second.", default=None)
    instance: bool = fields.flag("Third.", default=False)


def test_fields_may_have_any_name():
    body = {"units": q(50, "mm"), "instance": True}
    assert converted(Named, body) == Named(units=0.05, instance=True)


@pytest.mark.parametrize(
    ("archer", "arrow", "unit"),
    [
        pytest.param({"draw_length": q(70, "cm")}, q(30, "in"), "cm", id="the draw's"),
        pytest.param({"draws": [q(0.7, "m")]}, q(30, "in"), "m", id="the draws'"),
        pytest.param({"arm_span": q(170, "cm")}, q(30, "in"), "in", id="the arrow's"),
        pytest.param(
            {"growth_allowance": q(1, "cm"), "arm_span": q(170, "cm")},
            q(2.5, "ft"),
            "ft",
            id="the arrow's before any other",
        ),
    ],
)
def test_unit_of_the_answer(client, archer, arrow, unit):
    body = copy.deepcopy(EXAMPLES["fit-check"])
    body["archer"] = {"draw_length_convention": "standard", **archer}
    body["arrow"] = {"length": arrow}
    answer = client.post("/v1/fit-check", json=body).get_json()
    assert answer["minimum"]["unit"] == unit


def test_unit_asked_for_wins(client):
    body = {**EXAMPLES["balance"], "report_in": {"mass": "g", "length": "cm"}}
    answer = client.post("/v1/balance", json=body).get_json()
    assert answer["mass"]["unit"] == "g"
    assert answer["balance_point"]["unit"] == "cm"
