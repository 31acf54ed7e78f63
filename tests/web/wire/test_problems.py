"""Bad input gets a problem document that points at each fault."""

from __future__ import annotations

import copy
import gzip
import json
from wsgiref.util import setup_testing_defaults

import marshmallow as ma
import pytest

from drawmark.web.batch.definition import batch_item
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.installed_rules import core_rules, installed_rules
from drawmark.web.wire.operations import operations_of

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
        pytest.param(
            changed("arrow/lenght", 1), 422, "#/arrow/lenght", "not a known field", id="unknown"
        ),
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
        pytest.param(
            changed("_schema", 1), 422, "#/_schema", "not a known field", id="unknown _schema"
        ),
        pytest.param(
            changed("local/_schema", 1),
            422,
            "#/local/_schema",
            "not a known field",
            id="_schema below",
        ),
        pytest.param(changed("local", 5), 422, "#/local", "object", id="number for an object"),
        pytest.param("[]", 422, "#", "object", id="a list"),
    ],
)
def test_fault_is_pointed_at(client, body, status, where, words):
    response = client.post("/v1/fit-check", data=body, content_type="application/json")
    assert response.status_code == status, response.data
    assert response.mimetype == "application/problem+json"
    errors = {error["pointer"]: error["detail"] for error in response.get_json()["errors"]}
    assert words in errors[where]


WRONG_UNIT = {"value": 29.5, "unit": "gr"}


@pytest.mark.parametrize(
    ("wrong", "where"),
    [
        pytest.param(
            {"ruleset": "x", "local": {"no-such-plugin": {}}, "arrow": {"length": WRONG_UNIT}},
            {"#/ruleset", "#/local/no-such-plugin", "#/arrow/length/unit"},
            id="names and a unit",
        ),
        pytest.param(
            {"ruleset": "x", "arrow": {"length": {"value": 999, "unit": "in"}}},
            {"#/ruleset", "#/arrow/length/value"},
            id="a name and a range",
        ),
        pytest.param(
            {"ruleset": "x" * 65, "arrow": {"length": WRONG_UNIT}},
            {"#/ruleset", "#/arrow/length/unit"},
            id="a name that is too long",
        ),
        pytest.param(
            {"ruleset": 5, "arrow": {"length": WRONG_UNIT}},
            {"#/ruleset", "#/arrow/length/unit"},
            id="a number for a name",
        ),
        # What is needed is told once each field is sound.
        pytest.param({"ruleset": "x", "archer": {}}, {"#/ruleset"}, id="a name, and no draw"),
    ],
)
@pytest.mark.parametrize("path", ["fit-check", "fit-check/batch"])
def test_each_fault_of_a_field_is_told_at_once(client, path, wrong, where):
    body = {**FIT, **wrong}
    many = path.endswith("batch")
    problem = client.post(f"/v1/{path}", json={"items": [body]} if many else body).get_json()
    if many:
        problem = problem["items"][0]["problem"]
    pointers = [error["pointer"] for error in problem["errors"]]
    assert sorted(pointers) == sorted(where)


NUMBERS = ["1e999", "-1e999", "1" + "0" * 400, "9" * 5000, "-" + "9" * 5000]


@pytest.mark.parametrize("number", NUMBERS, ids=lambda number: f"{number[:6]}, {len(number)}")
@pytest.mark.parametrize("path", ["fit-check", "fit-check/batch"])
def test_number_that_no_float_holds_is_json_and_pointed_at(client, path, number):
    # RFC 8259 lets a number have any size, and a receiver set limits.
    body = changed(LENGTH, {"value": 7654321, "unit": "in"}).replace("7654321", number)
    if path.endswith("batch"):
        body = f'{{"items":[{body}]}}'
    response = client.post(f"/v1/{path}", data=body, content_type="application/json")
    problem = response.get_json()
    if path.endswith("batch"):
        problem = problem["items"][0]["problem"]
    assert problem["status"] == 422
    assert problem["errors"] == [
        {"pointer": "#/arrow/length/value", "detail": "must be a finite number"}
    ]


def members_of(schema, path=()):
    for name, field in schema().fields.items():
        yield (*path, name), field
        inner = getattr(field, "inner", field)
        if isinstance(inner, ma.fields.Nested):
            yield from members_of(type(inner.schema), (*path, name))


@pytest.mark.parametrize("rules", [core_rules(), installed_rules()], ids=["core", "installed"])
def test_every_member_says_in_our_words_that_it_is_null_or_missing(rules):
    for operation in (*operations_of(rules), batch_item(rules)):
        for path, field in members_of(operation.schema):
            assert field.error_messages["null"] == "must not be null", path
            assert field.error_messages["required"] == "needed", path


@pytest.mark.parametrize("coding", ["gzip", "br", "x-unheard-of", "identity, gzip"])
def test_body_in_a_coding_is_refused_by_its_name(client, coding):
    body = gzip.compress(json.dumps(FIT).encode())
    response = client.post(
        "/v1/fit-check",
        data=body,
        content_type="application/json",
        headers={"Content-Encoding": coding},
    )
    assert response.status_code == 415
    assert "Content-Encoding" in response.get_json()["detail"]
    # RFC 9110, section 15.5.16: the answer names the codings that are taken.
    assert response.headers["Accept-Encoding"] == "identity"


@pytest.mark.parametrize("path", ["fit-check", "fit-check/batch"])
@pytest.mark.parametrize(
    ("coding", "status"),
    [("gzip, chunked", 501), ("identity", 501), ("chunked", 200), ("Chunked", 200)],
)
def test_only_chunks_are_a_transfer_coding(client, path, coding, status):
    body = {"items": [FIT]} if path.endswith("batch") else FIT
    response = client.post(
        f"/v1/{path}",
        json=body,
        headers={"Transfer-Encoding": coding},
        environ_overrides={"wsgi.input_terminated": True},
    )
    assert response.status_code == status


@pytest.mark.parametrize("coding", ["identity", "", "Identity"])
def test_body_in_no_coding_is_answered(client, coding):
    response = client.post("/v1/fit-check", json=FIT, headers={"Content-Encoding": coding})
    assert response.status_code == 200


SPOILT = {
    "1,000 brackets": ("[" * 1000 + "]" * 1000, 400, "nested too deeply"),
    "1,000 objects": ('{"a":' * 1000 + "1" + "}" * 1000, 400, "nested too deeply"),
    "1,000 brackets in a part": (
        '{"arrow":{"shaft":' + "[" * 1000 + "]" * 1000 + "}}",
        400,
        "nested too deeply",
    ),
    "brackets in texts": ('{"id":"' + "[{" * 900 + '\\"]"}', 422, "does not fit"),
    "half a character": ('{"id":"\\ud800"}', 400, "half a character"),
    "half a character in a name": ('{"\\udc00":1}', 400, "half a character"),
    "a number for an item": ("7", 422, "does not fit"),
}


@pytest.mark.parametrize(("item", "status", "words"), SPOILT.values(), ids=SPOILT)
@pytest.mark.parametrize("others", [1, 20])
def test_item_that_cannot_be_read_spoils_no_other(client, item, status, words, others):
    good = json.dumps(FIT)
    body = '{"items":[' + ",".join([good, item, *[good] * others]) + "]}"
    response = client.post("/v1/fit-check/batch", data=body, content_type="application/json")
    assert response.status_code == 200, response.data
    answers = response.get_json()["items"]
    assert [one["status"] for one in answers] == [200, status] + [200] * others
    assert words in answers[1]["problem"]["detail"]


@pytest.mark.parametrize(
    "body",
    [
        pytest.param('{"items":[' + "[" * 1000 + "]" * 1000, id="cut off"),
        pytest.param('{"items":[' + "[" * 1000 + "]" * 1000 + "}", id="list left open"),
        pytest.param('{"items":[' + "[" * 1000 + "]" * 1000 + ",{]}", id="a broken item"),
        pytest.param('{"items":[' + "[" * 1000 + "]" * 1000 + ",nan]}", id="no value"),
        pytest.param('{"items":["\\ud800",]}', id="comma too many"),
        pytest.param('{"items":[' + "[" * 1000 + "]" * 1000 + "]} 1", id="something after it"),
        pytest.param('{"items":"\\ud800"}', id="half a character and no list"),
        pytest.param('{"items":{"a":' + "[" * 1000 + "]" * 1000 + "}}", id="depth and no list"),
        pytest.param('{"items":[' + "[" * 1000 + "[]," * 500_000 + "1]}", id="too much to skip"),
    ],
)
def test_batch_with_such_an_item_must_still_be_json(client, body):
    response = client.post("/v1/fit-check/batch", data=body, content_type="application/json")
    assert response.status_code == 400


@pytest.mark.parametrize(
    ("body", "kind", "status"),
    [
        pytest.param(b"{", "application/json", 400, id="not JSON"),
        pytest.param(b"", "application/json", 400, id="empty"),
        pytest.param(b'{"a": NaN}', "application/json", 400, id="NaN"),
        pytest.param(b"[" * 1000, "application/json", 400, id="1,000 brackets"),
        pytest.param(b"[" * 60000, "application/json", 400, id="60,000 brackets"),
        pytest.param(b"[" * 1000 + b"]" * 1000, "application/json", 400, id="closed brackets"),
        pytest.param(b'{"ruleset": "\\ud800"}', "application/json", 400, id="lone surrogate"),
        pytest.param(b'{"\\ud800": 1}', "application/json", 400, id="surrogate in a name"),
        pytest.param(b'{"a": Infinity}', "application/json", 400, id="Infinity"),
        pytest.param(b'{"a": 1e999, "b": }', "application/json", 400, id="broken and too large"),
        pytest.param(b'\xef\xbb\xbf{"a": 1e999}', "application/json", 422, id="byte order mark"),
        pytest.param(
            '{"a": 1e999}'.encode("utf-16"), "application/json", 400, id="not UTF-8 and too large"
        ),
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
        ("post", "/v1//fit-check", 404),
        ("get", "/v1//units", 404),
    ],
)
def test_path_and_method_errors(client, method, path, status):
    response = client.open(path, method=method.upper())
    assert response.status_code == status
    assert response.get_json()["status"] == status
    assert (status != 405) or response.headers["Allow"]


def raw(app, **environ):
    """Ask without a client that mends what it sends."""
    setup_testing_defaults(environ)
    environ["SERVER_PROTOCOL"] = environ.pop("protocol", "HTTP/1.1")
    environ["HTTP_HOST"] = environ.pop("host", "club")
    if environ["HTTP_HOST"] is None:
        del environ["HTTP_HOST"]
    answered = []
    body = app(environ, lambda status, *_: answered.append(int(status[:3])))
    return answered[0], json.loads(b"".join(body))


@pytest.mark.parametrize(
    ("environ", "status", "words"),
    [
        pytest.param({"PATH_INFO": "//v1/units"}, 404, "nothing at this path", id="two slashes"),
        pytest.param({"PATH_INFO": "///healthz"}, 404, "nothing at this path", id="three"),
        pytest.param({"host": None}, 400, "Host is missing", id="no host"),
        pytest.param({"host": "a,b"}, 400, "only once", id="two hosts"),
    ],
)
def test_head_of_a_request_is_refused(app, environ, status, words):
    found, problem = raw(app, **{"PATH_INFO": "/v1/units", **environ})
    assert (found, problem["status"]) == (status, status)
    assert words in problem["detail"]


def test_an_old_request_needs_no_host(app):
    assert raw(app, PATH_INFO="/healthz", host=None, protocol="HTTP/1.0")[0] == 200


def test_request_id_is_echoed_and_bounded(client):
    assert client.get("/healthz", headers={"X-Request-ID": "a-1"}).headers["X-Request-ID"] == "a-1"
    long = client.get("/healthz", headers={"X-Request-ID": "a" * 65}).headers["X-Request-ID"]
    assert long != "a" * 65


def test_faults_come_in_the_same_order_in_every_process(client):
    body = json.loads(changed("bow", {"zebra": 1, "value": 28, "unit": "in", "alpha": 2}))
    told = client.post("/v1/fit-check", json=body).json["errors"]
    assert [error["pointer"] for error in told] == [
        f"#/bow/{name}" for name in ("kind", "alpha", "unit", "value", "zebra")
    ]


def test_a_byte_order_mark_is_skipped(client):
    bodies = {
        "fit-check": FIT,
        "kit/labels": EXAMPLES["kit/labels"],
        "fit-check/batch": {"items": [FIT, {}]},
    }
    for path, body in bodies.items():
        text = json.dumps(body)
        plain, marked = (
            client.post(f"/v1/{path}", data=start + text, content_type="application/json")
            for start in ("", "\ufeff")
        )
        assert (plain.status_code, plain.data) == (200, marked.data)
    lines = f"\ufeff{json.dumps(FIT)}\n{json.dumps(FIT)}\n"
    kind = "application/x-ndjson"
    answer = client.post("/v1/fit-check/batch", data=lines, content_type=kind)
    assert [json.loads(line).get("status") for line in answer.data.splitlines()] == [200, 200, None]


@pytest.mark.parametrize("path", ["fit-check", "kit/labels", "fit-check/batch"])
@pytest.mark.parametrize("count", [2, 2000])
def test_of_several_byte_order_marks_none_is_skipped(client, path, count):
    text = "\ufeff" * count + json.dumps(EXAMPLES[path])
    answer = client.post(f"/v1/{path}", data=text, content_type="application/json")
    assert answer.status_code == 400
    assert answer.get_json()["detail"].startswith("The body is not JSON: ")


SHORT_ARROW = '"arrow":{"length":{"value":24,"unit":"in"}}'
LONG_ARROW = '"arrow":{"length":{"value":32,"unit":"in"}}'
REST = (
    '"archer":{"draw_length":{"value":27,"unit":"in"},"draw_length_convention":"standard"},'
    '"bow":{"kind":"recurve"}'
)
REPEATED = {
    "a part": f"{{{SHORT_ARROW},{REST},{LONG_ARROW}}}",
    "a part, named with an escape": f"{{{SHORT_ARROW},{REST},{LONG_ARROW}}}".replace(
        '"arrow"', '"\\u0061rrow"', 1
    ),
    "a figure": f"{{{LONG_ARROW},{REST}}}".replace('"value":32', '"value":24,"value":32'),
    "the same twice": f"{{{LONG_ARROW},{LONG_ARROW},{REST}}}",
    "beside a default": f'{{{LONG_ARROW},{REST},"detail":"full","detail":"full"}}',
    "behind a colon in a text": (
        f'{{{LONG_ARROW},{LONG_ARROW},{REST},"ruleset":"default\\u003a"}}'
    ),
    "in a long body": f"{{{SHORT_ARROW},{REST},{LONG_ARROW}}}".ljust(60_000),
}


@pytest.mark.parametrize("body", REPEATED.values(), ids=REPEATED)
def test_a_repeated_name_is_refused(client, body):
    answer = client.post("/v1/fit-check", data=body, content_type="application/json")
    assert answer.status_code == 400
    assert " twice" in answer.get_json(force=True)["detail"]


def test_a_repeated_name_among_many_is_refused(client):
    body = copy.deepcopy(EXAMPLES["kit/labels"])
    body["sets"] = [{**body["sets"][0], "id": f"s{number}"} for number in range(400)]
    text = json.dumps(body)
    kind = {"content_type": "application/json"}
    assert client.post("/v1/kit/labels", data=text, **kind).status_code == 200
    text = text.replace('"id": "s399"', '"id": "s399", "id": "s400"')
    assert client.post("/v1/kit/labels", data=text, **kind).status_code == 400


@pytest.mark.parametrize("more", [{"detail": "full"}, {"ruleset": "default"}])
def test_defaults_and_colons_may_be_given(client, more):
    body = {**FIT, **more, "archer": {**FIT["archer"], "draw_control": "none"}}
    assert client.post("/v1/fit-check", json=body).status_code == 200


def test_methods_come_in_the_same_order_in_every_process(client):
    assert client.post("/v1/units").headers["Allow"] == "GET, HEAD"
