"""Bad input gets a problem document that points at each fault."""

from __future__ import annotations

import copy
import json

import pytest

from drawmark.web.examples import EXAMPLES

FIT = EXAMPLES["fit-check"]


def changed(way, value):
    body = copy.deepcopy(FIT)
    *path, last = way.split("/")
    inner = body
    for step in path:
        inner = inner.setdefault(step, {})
    inner[last] = value
    return json.dumps(body)


def without(way):
    body = copy.deepcopy(FIT)
    *path, last = way.split("/")
    inner = body
    for step in path:
        inner = inner[step]
    del inner[last]
    return json.dumps(body)


LENGTH = "arrow/length"


@pytest.mark.parametrize(
    ("body", "status", "where", "words"),
    [
        pytest.param(changed(LENGTH, 29.5), 422, "#/arrow/length", "without its unit", id="bare"),
        pytest.param(
            changed(LENGTH, {"value": 29.5, "unit": "gr"}),
            422,
            "#/arrow/length/unit",
            "mm",
            id="wrong unit",
        ),
        pytest.param(
            changed("arrow/point/mass", {"value": 300, "unit": "g"}),
            422,
            "#/arrow/point/mass/value",
            "was gr meant",
            id="gram for grain",
        ),
        pytest.param(
            changed(LENGTH, {"value": "29.5", "unit": "in"}),
            422,
            "#/arrow/length/value",
            "finite number",
            id="text for a number",
        ),
        pytest.param(
            changed(LENGTH, {"value": True, "unit": "in"}),
            422,
            "#/arrow/length/value",
            "finite number",
            id="boolean for a number",
        ),
        pytest.param(
            changed(LENGTH, {"value": 2950, "unit": "in"}),
            422,
            "#/arrow/length/value",
            "from",
            id="out of range",
        ),
        pytest.param(
            changed(LENGTH, {"value": 10**400, "unit": "in"}),
            422,
            "#/arrow/length/value",
            "",
            id="integer beyond any float",
        ),
        pytest.param(changed("arrow/lenght", 1), 422, "#/arrow/lenght", "unknown", id="unknown"),
        pytest.param(
            without("archer/draw_length_convention"),
            422,
            "#/archer/draw_length_convention",
            "1 3/4 in",
            id="no convention",
        ),
        pytest.param(without("arrow/length"), 422, "#/arrow/length", "needed", id="no length"),
        pytest.param(without("bow/kind"), 422, "#/bow/kind", "needed", id="no kind of bow"),
        pytest.param(
            without("bow/draw_weight_basis"),
            422,
            "#/bow/draw_weight_basis",
            "needed",
            id="draw weight without its basis",
        ),
        pytest.param(
            changed("archer/draws", [{"value": 27, "unit": "in"}]),
            422,
            "#/archer/draws",
            "not both",
            id="draws beside a draw",
        ),
        pytest.param(
            changed("archer/draw_count", 12),
            422,
            "#/archer/draw_variation",
            "together",
            id="count without variation",
        ),
        pytest.param(
            changed("archer/draw_control", "hope"),
            422,
            "#/archer/draw_control",
            "clicker",
            id="no such control",
        ),
        pytest.param(
            changed("archer/coach_checked", 1),
            422,
            "#/archer/coach_checked",
            "true or false",
            id="number for a flag",
        ),
        pytest.param(changed("ruleset", "x"), 422, "#/ruleset", "default", id="no such rule set"),
        pytest.param(changed("arrow", None), 422, "#/arrow", "null", id="null"),
        pytest.param("[]", 422, "#", "object", id="a list"),
    ],
)
def test_fault_is_pointed_at(client, body, status, where, words):
    response = client.post("/v1/fit-check", data=body, content_type="application/json")
    assert response.status_code == status, response.data
    assert response.mimetype == "application/problem+json"
    errors = {error["pointer"]: error["detail"] for error in response.get_json()["errors"]}
    assert words in errors[where]


@pytest.mark.parametrize(
    ("body", "kind", "status"),
    [
        pytest.param(b"{", "application/json", 400, id="not JSON"),
        pytest.param(b"", "application/json", 400, id="empty"),
        pytest.param(b'{"a": NaN}', "application/json", 400, id="NaN"),
        pytest.param(b"[" * 1000, "application/json", 400, id="1,000 brackets"),
        pytest.param(b"[" * 60000, "application/json", 400, id="60,000 brackets"),
        pytest.param(b"[" * 1000 + b"]" * 1000, "application/json", None, id="closed brackets"),
        pytest.param(b'{"ruleset": "\\ud800"}', "application/json", None, id="lone surrogate"),
        pytest.param(b"\xff\xfe", "application/json", 400, id="not UTF-8"),
        pytest.param(b"{}", "text/plain", 415, id="wrong type"),
        pytest.param(b"{}", "", 415, id="no type"),
        pytest.param(b" " * (17 << 20), "application/json", 413, id="too large"),
    ],
)
@pytest.mark.parametrize("path", ["fit-check", "fit-check/batch", "spine"])
def test_body_is_refused(client, path, body, kind, status):
    response = client.post(f"/v1/{path}", data=body, content_type=kind)
    assert response.mimetype == "application/problem+json"
    assert response.status_code in ((status,) if status else (400, 422))


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("get", "/v1/fit-check", 405),
        ("put", "/v1/fit-check", 405),
        ("post", "/healthz", 405),
        ("get", "/v1/nothing", 404),
        ("post", "/v1/fit-check/", 404),
    ],
)
def test_path_and_method_errors(client, method, path, status):
    response = client.open(path, method=method.upper())
    assert response.status_code == status
    assert response.get_json()["status"] == status
    assert (status != 405) or response.headers["Allow"]


def test_request_id_is_echoed_and_bounded(client):
    assert client.get("/healthz", headers={"X-Request-ID": "a-1"}).headers["X-Request-ID"] == "a-1"
    long = client.get("/healthz", headers={"X-Request-ID": "a" * 65}).headers["X-Request-ID"]
    assert long != "a" * 65
