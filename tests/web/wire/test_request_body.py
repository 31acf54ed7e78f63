"""Bodies about the limit, and about the size up to which they are read at once."""

from __future__ import annotations

import io
import json

import pytest

from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.settings import Settings
from drawmark.web.wire.request_body import AT_ONCE, CUT_OFF

FIT = json.dumps(EXAMPLES["fit-check"]).encode()
JSON = "application/json"


class Torn(io.BytesIO):
    """Input that breaks while it is read."""

    def read(self, size=-1):
        raise OSError("the wire is gone")

    readinto = read


@pytest.mark.parametrize("limit", [2048, AT_ONCE, AT_ONCE + 5000])
@pytest.mark.parametrize(("beyond", "status"), [(-1, 200), (0, 200), (1, 413)])
def test_limit(limit, beyond, status):
    client = create_app(Settings(body_limit=limit)).test_client()
    body = FIT.ljust(limit + beyond)
    assert client.post("/v1/fit-check", data=body, content_type=JSON).status_code == status


@pytest.mark.parametrize("size", [len(FIT), AT_ONCE, AT_ONCE + 1, 3 * AT_ONCE])
def test_body_that_ends_too_early_or_breaks(size):
    client = create_app(Settings()).test_client()
    whole, announced = FIT.ljust(size), {"CONTENT_LENGTH": str(size)}

    def ask(**environ):
        return client.post("/v1/fit-check", content_type=JSON, **environ)

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
def test_what_is_wrong_and_what_would_be_right(method, options, status, words):
    client = create_app(Settings()).test_client()
    answer = getattr(client, method)("/v1/fit-check", **options)
    assert answer.status_code == status
    assert words in answer.get_json(force=True)["detail"]
