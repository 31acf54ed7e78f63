"""Cut plans and orders on the wire: units, pointers, and the whole of an answer."""

from __future__ import annotations

import copy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders.wire import q
from drawmark.fitting.units import UNITS
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.installed_rules import core_rules
from web.documented import validate

CLIENT = create_app(rules=core_rules()).test_client()
PLAN, ORDER = EXAMPLES["cut-plan"], EXAMPLES["order"]


def post(path, body):
    return CLIENT.post(f"/v1/{path}", json=body)


def answer_of(path, body):
    reply = post(path, body)
    assert reply.status_code == 200, reply.data
    answer = reply.get_json()
    validate(path, answer)
    return answer


def changed(body, **changes):
    """A copy with members set by a dotted way; None takes one out."""
    body = copy.deepcopy(body)
    for way, value in changes.items():
        *outer, last = way.split("__")
        inner = body
        for step in outer:
            inner = inner[int(step) if step.isdigit() else step]
        if value is None:
            del inner[last]
        else:
            inner[last] = value
    return body


PLANS = {
    "shots": PLAN,
    "no shots": changed(PLAN, shots=None),
    "an empty list of shots": changed(PLAN, shots=[]),
    "no wishes": changed(PLAN, cutting=None),
    "stiff": changed(PLAN, shots__0__offset=q(-12, "in"), shots__1__offset=q(-14, "in")),
    "a clicker": changed(
        PLAN,
        archer__draw_control="clicker",
        bow__rest_position=q(0, "in"),
        bow__clicker_range={"near": q(1, "in"), "far": q(3.5, "in")},
    ),
    "wanted length": changed(PLAN, cutting__wanted_length=q(30.75, "in")),
    "arm span": changed(PLAN, archer={"arm_span": q(66, "in")}),
    "a side": changed(
        PLAN,
        shots__0__side="right",
        shots__1__side="right",
        archer__string_hand="right",
        archer__release="fingers",
    ),
    "a side alone": changed(
        PLAN,
        shots__0__side="right",
        shots__0__offset=None,
        archer__string_hand="right",
        archer__release="fingers",
    ),
    "the point of a round": changed(PLAN, shots__0__point_mass=q(90, "gr")),
}


@pytest.mark.parametrize("body", PLANS.values(), ids=PLANS)
def test_plan_is_as_documented(body):
    answer = answer_of("cut-plan", body)
    assert answer["decision"]
    assert answer["cautions"]


# A coach asks which hand is on the string before reading a side. What is weak for one hand is stiff
# for the other, so a guess would cut a left-hander's stiff arrows.
@pytest.mark.parametrize(
    ("given", "missing"),
    [
        ({}, ["#/archer/release", "#/archer/string_hand"]),
        ({"archer__string_hand": "left"}, ["#/archer/release"]),
        ({"archer__release": "fingers"}, ["#/archer/string_hand"]),
    ],
)
def test_side_without_hand_or_release_names_what_is_missing(given, missing):
    reply = post("cut-plan", changed(PLAN, shots__1__side="left", **given))
    assert reply.status_code == 422
    assert sorted(error["pointer"] for error in reply.get_json()["errors"]) == missing


@pytest.mark.parametrize(
    ("path", "body", "pointer", "detail"),
    [
        (
            "cut-plan",
            changed(PLAN, cutting__wanted_length=q(32, "in")),
            "#/cutting/wanted_length",
            "longer",
        ),
        (
            "cut-plan",
            changed(PLAN, arrow__shaft__static_spine=None),
            "#/arrow/shaft/static_spine",
            "needed",
        ),
        ("cut-plan", changed(PLAN, shots__0__bare_count=0), "#/shots/0/bare_count", "from 1"),
        (
            "cut-plan",
            changed(PLAN, shots__1__distance=q(1, "mm")),
            "#/shots/1/distance/value",
            "from",
        ),
        (
            "cut-plan",
            changed(PLAN, shots__1__offset=None),
            "#/shots/1/offset",
            "needed, unless side is given",
        ),
        ("cut-plan", changed(PLAN, shots__1__side="up"), "#/shots/1/side", "one of"),
        ("cut-plan", changed(PLAN, shots=[PLAN["shots"][0]] * 61), "#/shots", "0 to 60"),
        (
            "order",
            changed(ORDER, sets__0__bow=None),
            "#/sets/0/bow",
            ("This is needed beside the archer."),
        ),
        (
            "order",
            changed(ORDER, sets__2__wanted_length=q(33, "in")),
            "#/sets/2/wanted_length",
            "longer than the stock gives",
        ),
        (
            "order",
            changed(ORDER, sets__0__stock_length=q(27, "in")),
            "#/sets/0/stock_length",
            "minimum safe length",
        ),
        ("order", changed(ORDER, sets__2__wanted_length=None), "#/sets/2/wanted_length", "needed"),
        ("order", {"sets": []}, "#/sets", "1 to 200"),
    ],
)
def test_fault_has_its_pointer(path, body, pointer, detail):
    reply = post(path, body)
    assert reply.status_code == 422
    (error,) = reply.get_json()["errors"]
    assert error["pointer"] == pointer
    assert detail in error["detail"]


LENGTHS = {"in": "in", "mm": "mm", "cm": "cm", "m": "m"}


def convert(tree, wanted):
    """The same request with every length in one unit."""
    if isinstance(tree, list):
        return [convert(one, wanted) for one in tree]
    if not isinstance(tree, dict):
        return tree
    if set(tree) == {"value", "unit"} and UNITS[tree["unit"]].dimension == "length":
        si = UNITS[tree["unit"]].to_si(tree["value"])
        return q(UNITS[wanted].from_si(si), wanted)
    return {name: convert(below, wanted) for name, below in tree.items()}


def figures_of(tree, way=()):
    """Every figure of an answer with its way; texts and flags as they are."""
    if isinstance(tree, dict) and set(tree) == {"value", "unit"}:
        yield way, tree["value"]
    elif isinstance(tree, dict):
        for name, below in tree.items():
            yield from figures_of(below, (*way, name))
    elif isinstance(tree, list):
        for place, below in enumerate(tree):
            yield from figures_of(below, (*way, place))
    else:
        yield way, tree


@settings(max_examples=25)
@given(
    path=st.just("cut-plan"),
    first=st.integers(-200, 600),
    second=st.integers(-200, 600),
    length=st.integers(288, 330),
    saw=st.sampled_from([None, q(0.125, "in")]),
)
def test_units_change_nothing(path, first, second, length, saw):
    body = changed(
        PLAN,
        arrow__length=q(length / 10, "in"),
        shots__0__length=q(length / 10 + 0.5, "in"),
        shots__1__length=q(length / 10, "in"),
        shots__0__offset=q(first, "mm"),
        shots__1__offset=q(second, "mm"),
        saw_increment=saw,
        report_in={"length": "mm", "mass": "g", "force": "N", "static_spine": "astm"},
    )
    answers = [answer_of(path, convert(body, unit)) for unit in LENGTHS]
    # A distance keeps the unit in which it came.
    assert [answer["reading"].pop("distance")["unit"] for answer in answers] == list(LENGTHS)
    told = [dict(figures_of(answer)) for answer in answers]
    for other in told[1:]:
        assert other.keys() == told[0].keys()
        for way, value in told[0].items():
            if isinstance(value, float):
                # one step of the wire's resolution
                assert other[way] == pytest.approx(value, abs=0.0101), way
            else:
                assert other[way] == value, way


# A coach who shot at 18 m is not told of 708.661 in.
@pytest.mark.parametrize("distance", [q(18, "m"), q(20, "m"), q(60, "ft")])
@pytest.mark.parametrize("report_in", [{}, {"length": "mm"}])
def test_distance_keeps_the_unit_in_which_it_came(distance, report_in):
    body = changed(PLAN, shots__0__distance=q(10, "m"), shots__1__distance=distance)
    reading = answer_of("cut-plan", {**body, "report_in": report_in})["reading"]
    assert reading["distance"] == distance
    assert reading["arrow_deviation"]["unit"] == report_in.get("length", "in")


def test_order_is_the_same_in_every_unit():
    body = {**ORDER, "report_in": {"length": "mm"}}
    answers = [answer_of("order", convert(body, unit)) for unit in LENGTHS]
    for other in answers[1:]:
        assert dict(figures_of(other)) == dict(figures_of(answers[0]))


def test_example_order_counts_every_shaft():
    answer = answer_of("order", ORDER)
    assert answer["total"] == 12 + 2 + 8 + 6
    assert {one["id"]: one["cut"] for one in answer["sets"]} == {
        "Imke": 14,
        "Joris": 0,
        "club reserve": 6,
    }


def test_printed_lengths_are_never_below_the_printed_minimum():
    for body in PLANS.values():
        answer = answer_of("cut-plan", changed(body, report_in={"length": "in"}))
        floor = answer.get("minimum", answer.get("minimum_at_least"))["value"]
        for step in answer["steps"]:
            assert step["length"]["value"] >= floor
