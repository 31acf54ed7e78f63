"""What the wire says of local rules: inputs nobody looks at, ceilings, and the catalogue."""

from __future__ import annotations

import copy
import dataclasses

import pytest

from builders.wire import q
from drawmark import rules
from drawmark.rules.registry import Registry
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.installed_rules import core_rules, installed_rules
from rules.bench import plugin, rule, says

CLUB = """
default = "plain"
[rulesets.plain]
[rulesets.hall]
plugins = ["hall"]
[[rulesets.hall.rules]]
id = "no-wood"
fact = "shaft_material"
among = ["wood"]
severity = "stop"
message = "Our backstop breaks wooden arrows. Use others."
"""
REASON = "The rack in our hall holds no longer arrow"


@dataclasses.dataclass(frozen=True)
class Inputs:
    """Where the archer stands."""

    lane: int = rules.whole(1, 9, "Lane.")
    place: float | None = rules.length(0.0, 1.0, "Place.", default=None)


HALL = plugin(
    rule(
        says(rules.ceiling(0.60, REASON)),
        "rack",
        gives=frozenset({"ceiling"}),
        needs=("facts.draw_weight",),
    ),
    rule(says(), "lane", inputs=Inputs, needs=("local.place|bow.clicker_range",)),
    name="hall",
)


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    file = tmp_path_factory.mktemp("club") / "club.toml"
    file.write_text(CLUB)
    registry = Registry(plugins=(*core_rules().registry.plugins, HALL))
    return create_app(rules=installed_rules(str(file), registry)).test_client()


def body(path="fit-check", **more):
    return {**copy.deepcopy(EXAMPLES[path]), **more}


LOCAL = {"hall": {"lane": 3}}
UNUSED = (
    "The rule set 'plain' does not use this plugin. Leave its inputs out, or choose another rule "
    "set."
)


@pytest.mark.parametrize("path", ["fit-check", "minimum-length", "longest-draw", "kit/labels"])
def test_inputs_for_a_plugin_that_is_not_used_are_refused(client, path):
    response = client.post(f"/v1/{path}", json=body(path, local=LOCAL))
    assert response.status_code == 422
    assert response.get_json()["errors"] == [{"pointer": "#/local/hall", "detail": UNUSED}]
    assert (
        client.post(f"/v1/{path}", json=body(path, local=LOCAL, ruleset="hall")).status_code == 200
    )


def test_so_are_those_of_one_archer(client):
    asked = body("kit/assignments")
    asked["archers"][1]["local"] = LOCAL
    response = client.post("/v1/kit/assignments", json=asked)
    assert response.status_code == 422
    assert response.get_json()["errors"] == [
        {"pointer": "#/archers/1/local/hall", "detail": UNUSED}
    ]
    assert client.post("/v1/kit/assignments", json={**asked, "ruleset": "hall"}).status_code == 200


def test_in_a_batch_they_cost_their_own_item(client):
    items = [body(local=LOCAL, ruleset=one) for one in ("hall", "plain")] * 10
    answer = client.post("/v1/fit-check/batch", json={"items": items}).get_json()
    assert [one["status"] for one in answer["items"]] == [200, 422] * 10
    (error,) = answer["items"][1]["problem"]["errors"]
    assert error == {"pointer": "#/local/hall", "detail": UNUSED}


def test_a_ceiling_gives_its_reason_where_it_decides(client):
    with_weight = body(ruleset="hall")
    with_weight["bow"] |= {"draw_weight": q(30, "lbf"), "draw_weight_basis": "own_draw"}
    answer = client.post("/v1/fit-check", json=with_weight).get_json()
    told = [one["message"] for one in answer["findings"] if one["rule"] == "rack"]
    assert [message.endswith(f" {REASON}.") for message in told] == [True]
    assert answer["advice_reason"].endswith(f" {REASON}.")
    recommended = {name: with_weight[name] for name in ("archer", "bow", "arrow", "ruleset")}
    answer = client.post("/v1/recommended-length", json=recommended).get_json()
    # There is no clicker to move.
    assert answer["advice_reason"] == (
        "No arrow length is both safe and within reach. A local rule's ceiling is too low for this "
        f"archer: ask the club. {REASON}."
    )


def test_the_catalogue_says_where_a_rule_is_in_force_and_what_it_needs(client):
    listed = client.get("/v1/rules").get_json()["rules"]
    entries = {(one["plugin"], one["rule"]): one for one in listed}
    table = {
        ("core", "minimum-length"): ("core", ["plain", "hall"]),
        ("hall", "rack"): ("plugin", ["hall"]),
        ("hall", "lane"): ("plugin", ["hall"]),
        ("club-file", "no-wood"): ("stated", ["hall"]),
    }
    found = {key: (entries[key]["kind"], entries[key]["rulesets"]) for key in table}
    assert found == table
    assert entries["hall", "rack"]["needs"] == ["bow.draw_weight", "bow.draw_weight_basis"]
    assert entries["hall", "lane"]["needs"] == [
        "local.hall.place|bow.clicker_range",
        "local.hall.lane",
    ]
