"""Every example is answered, and every answer fits the document."""

from __future__ import annotations

import copy
import json

import pytest

from builders.wire import q
from drawmark.web.document.examples import EXAMPLES
from web.documented import validate


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_example_is_answered_as_documented(client, path):
    response = client.post(f"/v1/{path}", json=EXAMPLES[path])
    assert response.status_code == 200
    validate(path, response.get_json())


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_same_request_gives_same_bytes(client, path):
    first, second = (client.post(f"/v1/{path}", json=EXAMPLES[path]).data for _ in range(2))
    assert first == second


def fit(**changes):
    body = copy.deepcopy(EXAMPLES["fit-check"])
    for path, value in changes.items():
        part, _, name = path.partition("__")
        if name:
            body[part][name] = value
        else:
            body[part] = value
    return body


@pytest.mark.parametrize(
    ("body", "verdict"),
    [
        pytest.param(fit(), "pass", id="enough"),
        pytest.param(fit(arrow__length=q(28.2, "in")), "stop", id="below the minimum"),
        pytest.param(fit(arrow__length=q(28.5, "in")), "caution", id="exactly at the minimum"),
        pytest.param(fit(arrow__length=q(723.9, "mm")), "caution", id="the same in millimetres"),
        pytest.param(fit(arrow__length=q(72.39, "cm")), "caution", id="the same in centimetres"),
        pytest.param(fit(bow__draw_weight=q(60, "lbf")), "stop", id="far too weak"),
        pytest.param(fit(bow__maximum_draw=q(27, "in")), "stop", id="beyond the bow's draw"),
        pytest.param(fit(archer__arm_span=q(1.2, "m")), "caution", id="arm span contradicts"),
        pytest.param(
            fit(archer__draw_control="clicker", arrow__length=q(28.45, "in")),
            "indeterminate",
            id="clicker claimed and not shown",
        ),
        pytest.param(
            fit(archer={"arm_span": q(68, "in")}, arrow__length=q(34, "in")),
            "caution",
            id="arm span only",
        ),
    ],
)
def test_verdict(client, body, verdict):
    response = client.post("/v1/fit-check", json=body)
    assert response.status_code == 200, response.data
    answer = response.get_json()
    assert answer["verdict"] == verdict
    validate("fit-check", answer)


def test_report_in_other_units(client):
    body = {**EXAMPLES["minimum-length"], "report_in": {"length": "mm"}}
    answer = client.post("/v1/minimum-length", json=body).get_json()
    # 27.5 in standard draw and 1 in past the back (common practice, no source)
    assert answer["minimum"] == q(723.9, "mm")


def test_spine_table_ends_at_the_wanted_length(client):
    answer = client.post("/v1/spine", json=EXAMPLES["spine"]).get_json()
    assert [step["length"]["value"] for step in answer["steps"]] == [29.0, 28.5]
    assert answer["after"]["static_spine"] == answer["before"]["static_spine"]


def test_batch_keeps_order_and_one_bad_item_spoils_nothing(client):
    bad = fit(arrow__length=28.5)
    items = [fit(), bad, fit(arrow__length=q(28.2, "in"))]
    answer = client.post("/v1/fit-check/batch", json={"items": items}).get_json()
    validate("fit-check/batch", answer)
    assert [item["status"] for item in answer["items"]] == [200, 422, 200]
    assert answer["items"][2]["result"]["verdict"] == "stop"
    errors = answer["items"][1]["problem"]["errors"]
    assert [error["pointer"] for error in errors] == ["#/arrow/length"]


def test_batch_of_a_thousand(client):
    one = json.dumps(fit())
    body = '{"items":[' + ",".join([one] * 1000) + "]}"
    response = client.post("/v1/fit-check/batch", data=body, content_type="application/json")
    assert {item["result"]["verdict"] for item in response.get_json()["items"]} == {"pass"}


@pytest.mark.parametrize("name", ["rules", "plugins", "rulesets", "units", "sources"])
def test_catalogue_is_not_empty(client, name):
    assert client.get(f"/v1/{name}").get_json()[name]
