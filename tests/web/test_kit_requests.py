"""A whole club on the wire: pointers, plugins' inputs, units, and rounding to the safe side."""

from __future__ import annotations

import copy

import pytest

from builders.wire import q
from drawmark import rules
from drawmark.answers.common.longest_draw_search import NO_DRAW
from drawmark.rules.configuration import configure
from drawmark.rules.registry import Registry
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.installed_rules import Rules, core_rules, installed_rules
from rules.bench import plugin, rule
from web.documented import schema_of_request, validate

KIT = sorted(path for path in EXAMPLES if path.startswith("kit/"))


def body_of(path, way="", value=None):
    """An example with one member changed, or taken out where the value is None."""
    body = copy.deepcopy(EXAMPLES[path])
    if way:
        *steps, last = [int(step) if step.isdigit() else step for step in way.split("/")]
        inner = body
        for step in steps:
            inner = inner[step]
        if value is None:
            del inner[last]
        else:
            inner[last] = value
    return body


def post(client, path, body):
    return client.post(f"/v1/{path}", json=body)


@pytest.mark.parametrize(
    ("path", "way", "value", "where", "words"),
    [
        pytest.param(
            "kit/assignments",
            "archers/1/bow/kind",
            "crossbow",
            "#/archers/1/bow/kind",
            "recurve",
            id="a field of an item",
        ),
        pytest.param(
            "kit/assignments",
            "archers/2/archer/draw_length",
            None,
            "#/archers/2/archer/draw_length",
            "needed, unless archer.draws or archer.arm_span is given",
            id="nothing tells the draw",
        ),
        pytest.param(
            "kit/lengths",
            "archers/0/archer/draw_length_convention",
            None,
            "#/archers/0/archer/draw_length_convention",
            "1 3/4 in",
            id="no convention",
        ),
        pytest.param(
            "kit/assignments",
            "sets/1/arrow/length",
            None,
            "#/sets/1/arrow/length",
            "needed",
            id="a set without its length",
        ),
        pytest.param(
            "kit/labels",
            "sets/1/arrow/length/unit",
            "gr",
            "#/sets/1/arrow/length/unit",
            "gr measures mass",
            id="a unit in an item",
        ),
        pytest.param(
            "kit/assignments",
            "archers/1/id",
            "Ines",
            "#/archers/1/id",
            "used twice",
            id="an archer twice",
        ),
        pytest.param(
            "kit/labels", "sets/1/id", "blue", "#/sets/0/id", "used twice", id="a set twice"
        ),
        pytest.param(
            "kit/labels",
            "sets/0/mass_spread",
            q(3, "gr"),
            "#/sets/0/arrow/mass",
            "beside mass_spread",
            id="a spread of no mass",
        ),
        pytest.param(
            "kit/assignments",
            "sets/0/arrow/fletching",
            {"mass": q(9, "gr")},
            "#/sets/0/arrow/fletching/rear_edge",
            "needed",
            id="vanes without a place",
        ),
        pytest.param("kit/assignments", "archers", [], "#/archers", "1 to 500", id="nobody"),
        pytest.param(
            "kit/consistency",
            "arrows/3/lenght",
            q(700, "mm"),
            "#/arrows/3/lenght",
            "not a known field",
            id="an unknown field of an item",
        ),
        pytest.param(
            "kit/consistency",
            "arrows/3/id",
            "c",
            "#/arrows/2/id",
            "used twice",
            id="an arrow twice",
        ),
        pytest.param(
            "kit/lengths", "most_lengths", 0, "#/most_lengths", "from 1", id="no lengths at all"
        ),
        pytest.param(
            "kit/lengths",
            "arrow",
            {"length": q(28)},
            "#/arrow/length",
            "must be left out",
            id="the length that is asked for",
        ),
        pytest.param(
            "kit/labels",
            "archer/draw_length",
            None,
            "#/archer/draw_length",
            "needed",
            id="growth of no draw",
        ),
    ],
)
def test_fault_is_pointed_at(client, path, way, value, where, words):
    reply = post(client, path, body_of(path, way, value))
    assert reply.status_code == 422, reply.data
    assert reply.mimetype == "application/problem+json"
    errors = {error["pointer"]: error["detail"] for error in reply.get_json()["errors"]}
    assert words in errors[where]


@pytest.mark.parametrize(
    ("path", "way", "value"),
    [
        pytest.param("kit/assignments", "archers/1/archer/draw_length", None, id="no draw"),
        pytest.param(
            "kit/assignments", "archers/1/archer/draws", [q(27)], id="draws beside a draw"
        ),
        pytest.param("kit/lengths", "archers/1/archer/draw_count", 12, id="a count alone"),
        pytest.param("kit/lengths", "archers/1/bow/draw_weight_basis", None, id="no basis"),
        pytest.param("kit/labels", "bow/draw_weight", q(30, "lbf"), id="a weight alone"),
        pytest.param("kit/labels", "archer/draw_variation", q(5, "mm"), id="a spread alone"),
        pytest.param("kit/assignments", "sets/0/arrow/length", None, id="no length"),
        pytest.param(
            "kit/labels", "sets/0/arrow/fletching", {"mass": q(9, "gr")}, id="vanes without a place"
        ),
    ],
)
def test_what_goes_together_is_stated_and_enforced(client, path, way, value):
    assert schema_of_request(path).is_valid(EXAMPLES[path])
    body = body_of(path, way, value)
    assert not schema_of_request(path).is_valid(body)
    assert post(client, path, body).status_code == 422


def many(path, name, count):
    body = copy.deepcopy(EXAMPLES[path])
    body[name] = [{**body[name][0], "id": str(place)} for place in range(count)]
    return body


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("kit/assignments", "archers"),
        ("kit/assignments", "sets"),
        ("kit/labels", "sets"),
        ("kit/lengths", "archers"),
    ],
)
def test_lists_have_a_limit(client, path, name):
    assert post(client, path, many(path, name, 501)).status_code == 422
    reply = post(client, path, many(path, name, 500))
    assert reply.status_code == 200
    validate(path, reply.get_json())


@pytest.mark.parametrize("path", KIT)
def test_every_answer_is_cautious(client, path):
    answer = post(client, path, EXAMPLES[path]).get_json()
    assert "qualified coach" in answer["cautions"][0]
    assert answer["engine"]["name"] == "drawmark"
    assert answer["status"] == "determinate"
    if path not in ("kit/consistency", "kit/sets"):
        assert answer["ruleset"] == "default"
        assert answer["rules_applied"][0]["plugin"] == "core"
        assert "Growth" in str(answer["not_checked"]) or "growth" in str(EXAMPLES[path])


@pytest.mark.parametrize(
    ("unit", "metres"), [("mm", 0.001), ("cm", 0.01), ("m", 1.0), ("in", 0.0254), ("ft", 0.3048)]
)
def test_figures_are_rounded_to_the_safe_side(client, unit, metres):
    draw = 25 + 1 / 3
    archer = {"draw_length": q(draw), "draw_length_convention": "standard"}
    people = {"archers": [{"id": "a", "archer": archer, "bow": {"kind": "recurve"}}]}
    rack = {"sets": [{"id": "s", "arrow": {"length": q(26 + 2 / 3)}, "count": 6}]}
    report = {"report_in": {"length": unit}}

    def ask(path, **body):
        return post(client, path, {**body, **report}).get_json()

    (length,) = ask("kit/lengths", **people, most_lengths=1)["lengths"]
    # the draw and an inch, common practice, no source
    assert length["length"]["value"] * metres >= (draw + 1) * 0.0254 - 1e-9
    (pair,) = ask("kit/assignments", **people, **rack, arrows_per_archer=6)["assignments"]
    assert pair["margin"]["value"] * metres <= 1 / 3 * 0.0254 + 1e-9
    del rack["sets"][0]["count"]
    (label,) = ask("kit/labels", **rack, bow={"kind": "recurve"})["labels"]
    assert label["label"]["value"] * metres <= (25 + 2 / 3) * 0.0254 + 1e-9


def test_units_are_those_of_the_request(client):
    answer = post(client, "kit/assignments", EXAMPLES["kit/assignments"]).get_json()
    assert {one["margin"]["unit"] for one in answer["assignments"]} == {"in"}
    answer = post(client, "kit/consistency", EXAMPLES["kit/consistency"]).get_json()
    assert answer["shortest_length"] == q(738.0, "mm")
    assert answer["odd"][1]["typical"] == q(351.0, "gr")


@pytest.fixture(scope="module")
def clubs():
    """The service with every plugin of this repository."""
    return create_app(rules=installed_rules()).test_client()


def test_inputs_of_local_rules_are_each_archers_own(clubs):
    # The aid of the second archer stands at the rest: a stop of the plugin for draw-check aids.
    body = copy.deepcopy(EXAMPLES["kit/assignments"])
    body["archers"] = body["archers"][:2]
    body["sets"] = [{**one, "count": 12} for one in body["sets"]]
    for one in body["archers"]:
        one["bow"]["rest_position"] = q(0.2)
    body["local"] = {"clicker-clearance": {"position": q(3)}}
    answer = post(clubs, "kit/assignments", body).get_json()
    assert [one["archer"] for one in answer["assignments"]] == ["Ines", "Falk"]
    body["archers"][1]["local"] = {"clicker-clearance": {"position": q(0.3)}}
    answer = post(clubs, "kit/assignments", body).get_json()
    assert [one["archer"] for one in answer["assignments"]] == ["Ines"]
    (left,) = answer["unequipped"]
    assert {finding["plugin"] for finding in left["findings"]} == {"clicker-clearance"}


def test_inputs_that_no_plugin_takes_are_pointed_at(client):
    body = body_of("kit/assignments", "archers/1/local", {"hall": {"place": 1}})
    reply = post(client, "kit/assignments", body)
    assert reply.status_code == 422
    (error,) = reply.get_json()["errors"]
    assert error["pointer"] == "#/archers/1/local/hall"


def served_by(*made):
    registry = Registry(plugins=(*core_rules().registry.plugins, plugin(*made, name="hall")))
    return create_app(
        rules=Rules(registry=registry, configuration=configure(registry))
    ).test_client()


def test_a_rule_that_fails_is_told_and_nothing_is_given_out():
    def broken(case):
        raise ValueError("no idea")

    answer = post(served_by(rule(broken)), "kit/assignments", EXAMPLES["kit/assignments"])
    said = answer.get_json()
    validate("kit/assignments", said)
    assert said["assignments"] == []
    assert {one["reason"] for one in said["unequipped"]} == {"in_doubt", "too_short"}
    assert said["unevaluated"] == [
        {"plugin": "hall", "rule": "r", "reason": "The rule raised ValueError: no idea."}
    ]


def test_rules_asked_pair_by_pair_bound_the_request():
    body = many("kit/assignments", "archers", 250)
    body["sets"] = many("kit/assignments", "sets", 250)["sets"]
    reply = post(served_by(rule(lambda case: [rules.note("n")])), "kit/assignments", body)
    assert reply.status_code == 422
    (error,) = reply.get_json()["errors"]
    assert error["pointer"] == "#/archers"
    assert "at most 40000 pairs" in error["detail"]


@pytest.mark.parametrize("path", ["kit/assignments", "kit/labels", "kit/lengths"])
def test_rule_sets_are_honoured(path):
    strict = rule(
        lambda case: [rules.floor(0.85, "our hall")],
        "floor",
        check_many=lambda case: [rules.floor(0.85, "our hall")],
        gives=frozenset({"floor"}),
    )
    before = post(served_by(rule(lambda case: [])), path, EXAMPLES[path]).get_json()
    after = post(served_by(strict), path, EXAMPLES[path]).get_json()
    validate(path, after)
    assert before != after
    assert {one["plugin"] for one in after["rules_applied"]} == {"core", "hall"}
    if path == "kit/assignments":
        assert after["assignments"] == []
    elif path == "kit/labels":
        assert {one["reason"] for one in after["labels"]} == {NO_DRAW}
    else:
        # 850 mm and half an inch are 33.965 in, up to the saw's scale of quarter inches
        assert [one["length"] for one in after["lengths"]] == [q(34)]


STATIONS = [
    {"position": q(place, "mm"), "relative_stiffness": stiff, "relative_mass": 1}
    for place, stiff in ((0, 0.5), (400, 1), (820, 0.5))
]


def rack_of_tapered_shafts(figure):
    body = copy.deepcopy(EXAMPLES["kit/assignments"])
    body["sets"][0]["arrow"]["shaft"]["stations"] = STATIONS
    return {**body, "arrows_per_archer": figure}


def tapered_candidates(figure):
    body = copy.deepcopy(EXAMPLES["replacement"])
    body["candidates"][0]["shaft"]["stations"] = STATIONS
    body["archer"] |= {"draw_variation": q(5, "mm"), "draw_count": figure}
    return body


@pytest.mark.parametrize(
    ("path", "body"),
    [("kit/assignments", rack_of_tapered_shafts), ("replacement", tapered_candidates)],
)
def test_a_whole_number_written_with_a_point_changes_nothing(client, path, body):
    # Such a body is read by the slower way, whose check of the items must leave them as they are.
    usual, slower = (post(client, path, body(figure)) for figure in (6, 6.0))
    assert (usual.status_code, slower.status_code) == (200, 200)
    assert usual.data == slower.data
