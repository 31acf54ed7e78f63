"""A batch answers each item, in order; one bad item spoils nothing."""

from __future__ import annotations

import json

import pytest

from builders.wire import q
from drawmark.web.batch.definition import MOST_FULL, MOST_ITEMS, MOST_WORDED
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.operation import Operation

FIT = EXAMPLES["fit-check"]


def post(client, body):
    text = body if isinstance(body, str | bytes) else json.dumps(body)
    return client.post("/v1/fit-check/batch", data=text, content_type="application/json")


def test_items_equal_single_checks(client):
    single = client.post("/v1/fit-check", json={**FIT, "detail": "verdict"}).get_json()
    items = post(client, {"items": [FIT, {**FIT, "id": "x"}]}).get_json()["items"]
    assert items == [
        {"index": 0, "status": 200, "result": single},
        {"index": 1, "id": "x", "status": 200, "result": single},
    ]


@pytest.mark.parametrize(
    ("bad", "status"),
    [
        pytest.param("{}", 422, id="empty"),
        pytest.param("[]", 422, id="a list"),
        pytest.param("null", 422, id="null"),
        pytest.param("9" * 40, 422, id="huge integer"),
        pytest.param("1e999", 422, id="beyond any float"),
        pytest.param("[" * 900 + "]" * 900, 422, id="deep"),
        pytest.param("[" * 3000 + "]" * 3000, 400, id="too deep"),
        pytest.param('{"id": "\\ud800"}', 400, id="lone surrogate"),
    ],
)
def test_bad_item_spoils_nothing(client, bad, status):
    good = json.dumps(FIT)
    response = post(client, f'{{"items": [{good}, {bad}, {good}]}}')
    assert response.status_code == 200
    first, second, third = response.get_json()["items"]
    assert first["status"] == third["status"] == 200
    assert second["status"] == second["problem"]["status"] == status
    assert "result" not in second


def test_fault_of_the_service_in_one_item_stays_there(client, monkeypatch, caplog):
    calculate = Operation.calculate

    def fail_once(self, body):
        if b"unlucky" in body:
            raise ZeroDivisionError
        return calculate(self, body)

    monkeypatch.setattr(Operation, "calculate", fail_once)
    items = post(client, {"items": [FIT, {**FIT, "id": "unlucky"}]}).get_json()["items"]
    assert [item["status"] for item in items] == [200, 500]
    assert items[1]["id"] == "unlucky"
    assert "Traceback" not in json.dumps(items)


def test_only_some_problems_are_worded_in_full(client):
    items = post(client, {"items": [{}] * (MOST_WORDED + 2)}).get_json()["items"]
    worded = ["errors" in item["problem"] for item in items]
    assert worded == [True] * MOST_WORDED + [False] * 2


@pytest.mark.parametrize(
    ("body", "where", "words"),
    [
        ("[]", "#", "object"),
        ("{}", "#/items", "needed"),
        ('{"items": {}}', "#/items", "list"),
        ('{"items": []}', "#/items", "1 to 10000"),
        ('{"items": [{}], "more": 1}', "#/more", "not a known field"),
        ('{"items": null}', "#/items", "null"),
        (json.dumps({"items": [0] * (MOST_ITEMS + 1)}), "#/items", "1 to 10000"),
    ],
)
def test_what_is_no_batch_is_pointed_at(client, body, where, words):
    response = post(client, body)
    assert response.status_code == 422
    (error,) = response.get_json()["errors"]
    assert error["pointer"] == where
    assert words in error["detail"]


def test_the_limit_is_answered(client):
    body = '{"items":[' + ",".join([json.dumps(FIT)] * MOST_ITEMS) + "]}"
    assert len(post(client, body).get_json()["items"]) == MOST_ITEMS


TOO_LONG_VANES = {"rear_edge": {"value": 390, "unit": "mm"}, "length": {"value": 400, "unit": "mm"}}
REFUSALS = {
    "is not a known field": {**FIT, "more": 1},
    "out of range": {**FIT, "arrow": {"length": {"value": 9000, "unit": "mm"}}},
    "no length": {**FIT, "arrow": {}},
    "no convention": {**FIT, "archer": {"draw_length": FIT["archer"]["draw_length"]}},
    "cannot be built": {**FIT, "arrow": {**FIT["arrow"], "fletching": TOO_LONG_VANES}},
    "no such rule set": {**FIT, "ruleset": "none"},
}


@pytest.mark.parametrize("bad", REFUSALS.values(), ids=REFUSALS)
def test_many_refusals_spoil_nothing_and_cost_few_words(client, bad):
    bodies = [FIT, bad, bad] * (MOST_WORDED // 2 + 10)
    items = post(client, {"items": bodies}).get_json()["items"]
    assert {item["status"] for item in items[::3]} == {200}
    refused = [item for place, item in enumerate(items) if place % 3]
    assert {item["status"] for item in refused} == {422}
    worded = ["errors" in item["problem"] for item in refused]
    assert worded == [True] * MOST_WORDED + [False] * 20


FULL = {**FIT, "detail": "full"}
STATIONS = [
    {"position": q(at), "relative_stiffness": 1.0, "relative_mass": 1.0} for at in (0, 10, 40)
]
TAPERED = {
    **FULL,
    "arrow": {**FIT["arrow"], "shaft": {"static_spine": q(500, "astm"), "stations": STATIONS}},
}


def test_full_detail_is_answered_below_its_limit(client):
    assert post(client, {"items": [FULL, TAPERED, *[FIT] * 5]}).status_code == 200


@pytest.mark.parametrize(
    ("items", "over"),
    [
        pytest.param([FULL] * (MOST_FULL + 1), MOST_FULL, id="uniform"),
        pytest.param([TAPERED] * (MOST_FULL // 3 + 1), MOST_FULL // 3, id="tapered count thrice"),
        pytest.param([FIT, *[FULL] * (MOST_FULL - 2), TAPERED], MOST_FULL - 1, id="both"),
    ],
)
def test_full_detail_has_a_limit_of_its_own(client, items, over):
    response = post(client, {"items": items})
    assert response.status_code == 422
    (error,) = response.get_json()["errors"]
    assert error["pointer"] == f"#/items/{over}/detail"
    assert "counts as 3" in error["detail"]
