"""Bodies about the limits of their operations, and bodies that end too early."""

from __future__ import annotations

import io
import json

import pytest

from drawmark.web import create_app
from drawmark.web.batch.definition import BATCH_PATH
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules
from drawmark.web.wire.operations import operations_of
from drawmark.web.wire.request_body import AT_ONCE, CUT_OFF
from web.wire.bad_bodies import full_object

FIT = json.dumps(EXAMPLES["fit-check"]).encode()
LABELS = json.dumps(EXAMPLES["kit/labels"]).encode()
JSON = "application/json"
OPERATIONS = {operation.path: operation for operation in operations_of(core_rules())}
OF_LISTS = {
    "delivery",
    "order",
    "replacement",
    "kit/assignments",
    "kit/labels",
    "kit/lengths",
    "kit/consistency",
    "kit/sets",
}


class Torn(io.BytesIO):
    """Input that breaks while it is read."""

    def read(self, size=-1):
        raise OSError("the wire is gone")

    readinto = read


@pytest.fixture(scope="module")
def usual():
    return create_app(Settings(log_requests=False)).test_client()


@pytest.fixture(scope="module")
def small():
    """A service that takes small bodies only."""
    return create_app(Settings(body_limit=4096)).test_client()


def post(client, path, body):
    return client.post(f"/v1/{path}", data=body, content_type=JSON).status_code


@pytest.mark.parametrize("path", [*OPERATIONS, BATCH_PATH])
@pytest.mark.parametrize(("beyond", "status"), [(-1, 200), (0, 200), (1, 413)])
def test_limit_of_each_operation(usual, path, beyond, status):
    limit = OPERATIONS[path].body_limit if path in OPERATIONS else Settings().body_limit
    body = json.dumps(EXAMPLES[path]).encode().ljust(limit + beyond)
    assert post(usual, path, body) == status


@pytest.mark.parametrize("path", ["fit-check", "kit/labels", BATCH_PATH])
@pytest.mark.parametrize(("beyond", "status"), [(0, 200), (1, 413)])
def test_limit_of_the_service(small, path, beyond, status):
    body = json.dumps(EXAMPLES[path]).encode().ljust(4096 + beyond)
    assert post(small, path, body) == status


@pytest.mark.parametrize("path", OPERATIONS)
def test_the_largest_request_fits_its_limit(path):
    operation = OPERATIONS[path]
    size = len(json.dumps(full_object(operation.schema)))
    assert size <= operation.body_limit
    assert (operation.body_limit > AT_ONCE) == (path in OF_LISTS)


@pytest.mark.parametrize("size", [len(LABELS), AT_ONCE, AT_ONCE + 1, 3 * AT_ONCE])
def test_body_that_ends_too_early_or_breaks(usual, size):
    whole, announced = LABELS.ljust(size), {"CONTENT_LENGTH": str(size)}

    def ask(**environ):
        return usual.post("/v1/kit/labels", content_type=JSON, **environ)

    assert ask(data=whole).status_code == 200
    short = ask(data=whole[:-1], environ_overrides=announced)
    assert (short.status_code, short.json["detail"]) == (400, CUT_OFF)
    torn = ask(input_stream=Torn(), environ_overrides=announced)
    assert torn.status_code == 400


@pytest.mark.parametrize(
    ("method", "options", "status", "words"),
    [
        ("post", {"data": b"", "content_type": JSON}, 400, "it is empty"),
        ("post", {"data": FIT}, 415, "sent without Content-Type"),
        ("post", {"data": FIT, "content_type": "text/plain"}, 415, "it is text/plain"),
        ("get", {}, 405, "Use POST"),
    ],
)
def test_what_is_wrong_and_what_would_be_right(usual, method, options, status, words):
    answer = getattr(usual, method)("/v1/fit-check", **options)
    assert answer.status_code == status
    assert words in answer.get_json(force=True)["detail"]
