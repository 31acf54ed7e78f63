"""Plugins on the wire: their inputs, their faults, their text, and what the document shows."""

from __future__ import annotations

import copy
import dataclasses
import json
from pathlib import Path
from types import SimpleNamespace

import pytest

from builders.wire import q
from drawmark import rules
from drawmark.rules import registry
from drawmark.rules.configuration import Configuration, everything
from drawmark.rules.registry import Registry
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.document.openapi import document_of, encode_document, stripped
from drawmark.web.wire.installed_rules import Rules, core_rules
from rules.bench import plugin, says

COMMITTED = Path(__file__).parents[2] / "openapi" / "drawmark.json"


@dataclasses.dataclass(frozen=True, kw_only=True)
class Inputs:
    """What the hall asks about an arrow."""

    tip_width: float = rules.length(0.001, 0.05, "Width of the tip.")
    colour: str = rules.choice(("white", "gold"), "Colour of the nock.", default="white")


def check(case):
    if case.inputs.colour == "gold":
        yield rules.note("a lone \ud800 surrogate")
    yield rules.floor(0.9 + case.inputs.tip_width, "our hall")


class Module:
    """Stands for the module of a plugin."""

    @staticmethod
    @rules.hookimpl
    def drawmark_rules():
        return [
            rules.Rule(
                id="hall", title="Length in our hall.", check=check, inputs=Inputs, needs=("local",)
            )
        ]


class Broken:
    """Stands for a module that fails."""

    @staticmethod
    @rules.hookimpl
    def drawmark_rules():
        raise RuntimeError("no \ud800 luck")


# What the loader reads of an entry point.
BROKEN_POINT = {
    "name": "broken",
    "group": registry.GROUP,
    "value": "broken",
    "dist": None,
    "load": lambda: Broken,
}


def rules_with(*plugins):
    found = Registry(plugins=(*core_rules().registry.plugins, *plugins))
    ruleset = everything(found)
    return Rules(
        registry=found,
        configuration=Configuration(rulesets={ruleset.name: ruleset}, default=ruleset.name),
    )


@pytest.fixture(scope="module")
def with_plugins():
    broken = registry.load_from([SimpleNamespace(**BROKEN_POINT)]).plugins
    return rules_with(registry.register("hall-rules", "2.0", Module), *broken)


@pytest.fixture(scope="module")
def client(with_plugins):
    return create_app(rules=with_plugins).test_client()


def fit(local):
    return {**copy.deepcopy(EXAMPLES["fit-check"]), "local": local}


def test_inputs_reach_the_rule_in_si(client):
    body = {**fit({"hall-rules": {"tip_width": q(1, "in")}}), "report_in": {"length": "mm"}}
    answer = client.post("/v1/fit-check", json=body).get_json()
    assert answer["minimum"] == q(925.4, "mm")
    assert answer["verdict"] == "stop"


@pytest.mark.parametrize("name", ["class", "not-here", "x"])
def test_any_name_of_a_plugin_serves_single_checks_and_batches(name):
    client = create_app(rules=rules_with(registry.register(name, "1", Module))).test_client()
    one = fit({name: {"tip_width": q(1, "in")}})
    assert client.post("/v1/fit-check", json=one).get_json()["verdict"] == "stop"
    batch = client.post("/v1/fit-check/batch", json={"items": [one] * 12}).get_json()
    assert {item["result"]["verdict"] for item in batch["items"]} == {"stop"}


@pytest.mark.parametrize(
    ("local", "where", "words"),
    [
        ({"nobody": {}}, "#/local/nobody", "not a known field"),
        ({"hall-rules": {}}, "#/local/hall-rules/tip_width", "needed"),
        ({"hall-rules": {"tip_width": 5}}, "#/local/hall-rules/tip_width", "without its unit"),
        (
            {"hall-rules": {"tip_width": q(5, "in")}},
            "#/local/hall-rules/tip_width/value",
            "must be from",
        ),
        (
            {"hall-rules": {"tip_width": q(5, "mm"), "colour": "red"}},
            "#/local/hall-rules/colour",
            "white, gold",
        ),
    ],
)
def test_fault_in_local_is_pointed_at(client, local, where, words):
    response = client.post("/v1/fit-check", json=fit(local))
    assert response.status_code == 422
    (error,) = response.get_json()["errors"]
    assert error["pointer"] == where
    assert words in error["detail"]


def test_text_that_is_no_unicode_does_not_leave_the_service(client):
    local = {"hall-rules": {"tip_width": q(5, "mm"), "colour": "gold"}}
    response = client.post("/v1/fit-check", json=fit(local))
    assert response.status_code == 200
    assert "\\ud800" not in response.text
    answer = response.get_json()
    assert answer["verdict"] in ("indeterminate", "stop")
    (told,) = [one for one in answer["unevaluated"] if one != LOST]
    assert told["reason"] == "The rule gave a message that is not plain text of 1 to 500 signs."
    batch = client.post("/v1/fit-check/batch", json={"items": [fit(local), fit({})]})
    assert [item["status"] for item in batch.get_json()["items"]] == [200, 200]


LOST = {
    "plugin": "broken",
    "rule": "",
    "reason": "The plugin failed to load, and its rules are not applied: RuntimeError: no ? luck.",
}


@pytest.mark.parametrize("detail", ["full", "verdict"])
def test_every_answer_names_a_plugin_that_failed_to_load(client, detail):
    one = {**fit({}), "detail": detail}
    answer = client.post("/v1/fit-check", json=one).get_json()
    assert answer["unevaluated"] == [LOST]
    assert answer["status"] == "determinate"
    batch = client.post("/v1/fit-check/batch", json={"items": [one] * 9}).get_json()
    assert [item["result"]["unevaluated"] for item in batch["items"]] == [[LOST]] * 9


# What answers with rules: the others need none.
WITH_RULES = sorted(
    set(EXAMPLES) - {"spine", "balance", "kit/consistency", "kit/sets", "fit-check/batch"}
)


@pytest.mark.parametrize("path", WITH_RULES)
def test_every_operation_names_a_plugin_that_failed_to_load(client, path):
    assert client.post(f"/v1/{path}", json=EXAMPLES[path]).get_json()["unevaluated"] == [LOST]


def test_readiness_names_a_plugin_that_failed_to_load(client):
    response = client.get("/readyz")
    assert response.status_code == 200
    ready = response.get_json()
    assert ready["status"] == "degraded"
    (failed,) = [one for one in ready["plugins"] if one["status"] == "failed"]
    assert (failed["plugin"], failed["error"]) == ("broken", "RuntimeError: no ? luck")


def test_broken_plugin_is_shown_with_its_error(client):
    plugins = {one["plugin"]: one for one in client.get("/v1/plugins").get_json()["plugins"]}
    assert plugins["broken"]["status"] == "failed"
    assert "luck" in plugins["broken"]["error"]
    assert plugins["hall-rules"]["status"] == "active"


def test_component_is_named_after_plugin_and_role(with_plugins):
    schemas = document_of(with_plugins)["components"]["schemas"]
    assert "HallRulesInputs" in schemas
    assert "Inputs" not in schemas
    assert schemas["Local"]["properties"]["hall-rules"]["$ref"].endswith("/HallRulesInputs")


def test_without_plugins_members_it_is_the_committed_document(with_plugins):
    assert encode_document(stripped(document_of(with_plugins))) == COMMITTED.read_bytes()


def test_document_is_served_as_generated(client, with_plugins):
    served = client.get("/openapi.json").data
    assert served == encode_document(document_of(with_plugins))
    components = ["HallRulesInputs", "HallRulesInputsColour"]
    assert json.loads(served)["x-plugin-components"] == components


@pytest.mark.parametrize(
    ("ceiling", "length", "advice"),
    [
        pytest.param(None, 30.8, "as_is", id="within the window of 29 to 31 in"),
        pytest.param(None, 32, "cut_to", id="beyond it, growth being stated"),
        pytest.param(32, 32, "cut_to", id="beyond it, the ceiling being further"),
        pytest.param(29.2, 29.1, "as_is", id="below a ceiling"),
        pytest.param(29.2, 29.8, "leave_uncut", id="above a ceiling alone"),
        pytest.param(29.2, 31, "leave_uncut", id="above both"),
        pytest.param(28.5, 29.8, "no_common_length", id="a ceiling below every safe length"),
    ],
)
def test_a_ceiling_is_never_advice_to_cut(ceiling, length, advice):
    local = [] if ceiling is None else [rules.ceiling(rules.inches(ceiling), "our racks")]
    found = Registry(plugins=(*core_rules().registry.plugins, plugin(says(*local), name="racks")))
    ruleset = everything(found)
    configuration = Configuration(rulesets={ruleset.name: ruleset}, default=ruleset.name)
    client = create_app(rules=Rules(registry=found, configuration=configuration)).test_client()
    body = {
        "archer": {
            "draw_length": q(28, "in"),
            "draw_length_convention": "standard",
            "growth_allowance": q(0, "in"),
        },
        "bow": {"kind": "recurve"},
        "arrow": {"length": q(length, "in")},
    }
    answer = client.post("/v1/recommended-length", json=body).get_json()
    assert answer["advice"] == advice
    # 26.25 in to the pivot point, 1 3/4 in to the back of the bow, 1 in past it.
    assert answer["minimum"] == q(29.0, "in")


@dataclasses.dataclass(frozen=True)
class Pair:
    """Two figures of which the first must be the less."""

    low: float = rules.number(0.0, 9.0, "Low.")
    high: float = rules.number(0.0, 9.0, "High.", default=9.0)

    def __post_init__(self):
        if self.low == 7:
            return self.low.no_such_thing
        if self.low == 8:
            while True:
                pass
        if self.low > self.high:
            raise ValueError("low is above high" if self.high else "")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"low": 3, "high": 2}, "Low is above high."),
        ({"low": 3, "high": 0}, "The plugin refuses these inputs together."),
        ({"low": 7}, "The plugin's check raised AttributeError: "),
        ({"low": 8}, "The plugin's check ran longer than 250 ms."),
    ],
)
def test_inputs_that_the_plugin_refuses_are_a_misfit(given, words):
    pair = plugin(rules.Rule(id="pair", title="t", check=says(), inputs=Pair), name="pair")
    client = create_app(rules=rules_with(pair)).test_client()
    response = client.post("/v1/fit-check", json=fit({"pair": given}))
    assert response.status_code == 422
    (error,) = response.get_json()["errors"]
    assert error["pointer"] == "#/local/pair"
    assert error["detail"].startswith(words)
    batch = client.post(
        "/v1/fit-check/batch", json={"items": [fit({"pair": {"low": 1}}), fit({"pair": given})]}
    )
    statuses = [item["status"] for item in batch.get_json()["items"]]
    assert statuses == [200, 422]


def test_inputs_with_a_check_of_their_own_serve_assignments():
    pair = plugin(rules.Rule(id="pair", title="t", check=says(), inputs=Pair), name="pair")
    client = create_app(rules=rules_with(pair)).test_client()
    one = fit({})
    archers = [
        {
            "id": str(low),
            "archer": one["archer"],
            "bow": one["bow"],
            "local": {"pair": {"low": low, "high": low + 1}},
        }
        for low in range(3)
    ]
    sets = [{"id": "set", "arrow": one["arrow"], "count": 6}]
    body = {"archers": archers, "sets": sets, "arrows_per_archer": 2}
    response = client.post("/v1/kit/assignments", json=body)
    assert response.status_code == 200
    assert response.get_json()["unevaluated"] == []
