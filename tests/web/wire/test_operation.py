"""Decoders are made before the first request: threads that make the same one end the process."""

from __future__ import annotations

import json

import msgspec
import pytest

from drawmark.web import create_app
from drawmark.web.batch.definition import BATCH_PATH, NDJSON
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.installed_rules import core_rules
from drawmark.web.wire.operations import operations_of


def no_decoder(*args, **kwargs):
    raise AssertionError("a decoder is made while a request is answered")


@pytest.fixture(scope="module")
def app():
    return create_app(rules=core_rules())


@pytest.fixture
def client(app, monkeypatch):
    """A service after its start."""
    monkeypatch.setattr(msgspec.json, "Decoder", no_decoder)
    return app.test_client()


@pytest.mark.parametrize("path", [*(one.path for one in operations_of(core_rules())), BATCH_PATH])
def test_no_request_makes_a_decoder(client, path):
    assert client.post(f"/v1/{path}", json=EXAMPLES[path]).status_code == 200


def test_a_batch_of_lines_makes_none(client):
    line = json.dumps(EXAMPLES["fit-check"]) + "\n"
    response = client.post(f"/v1/{BATCH_PATH}", data=line * 9, content_type=NDJSON)
    assert response.get_data().count(b'"status":200') == 9
