"""Under which names a service without tokens answers: none that the owner of a page could have."""

from __future__ import annotations

from wsgiref.util import setup_testing_defaults

import pytest

from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules

OURS = [
    "127.0.0.1:8080",
    "127.0.0.1",
    "192.0.2.7:80",
    "[::1]:8080",
    "[2001:db8::1]",
    "[::ffff:127.0.0.1]:8080",
    "[::FFFF:192.0.2.7]",
    "localhost:8080",
    "localhost.",
    "localhost.:8080",
    "drawmark-1:8000",
    "range",
]
THEIRS = [
    "rebound.example:8080",
    "rebound.example",
    "rebound.example.",
    "REBOUND.EXAMPLE",
    "127.0.0.1.rebound.example:8080",
    "rebound.example:127.0.0.1",
    "127.0.0.1@rebound.example",
    "127.0.0.1:80a.example",
    "[::1].rebound.example",
    "[::1.rebound.example]",
    "[::ffff:127.0.0.1].example:80",
    "localhost.rebound.example",
    "localhost..example",
    "localhost.:80.example",
    "rebound.",
    "rebound.127.0.0.1",
    "1.2.3.4\n.example",
]


@pytest.mark.parametrize("host", OURS)
def test_it_answers_to_addresses_and_bare_names(client, host):
    assert client.get("/v1/units", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize("host", THEIRS)
def test_other_names_are_refused(app, host):
    environ = {"HTTP_HOST": host, "PATH_INFO": "/v1/rulesets"}
    setup_testing_defaults(environ)
    statuses = []
    app(environ, lambda status, *_: statuses.append(status))
    assert statuses == ["421 Misdirected Request"]


@pytest.mark.parametrize("path", ["/", "/docs", "/v1/rulesets", "/healthz", "/metrics"])
def test_a_page_of_theirs_reads_nothing(client, path):
    answer = client.get(path, headers={"Host": "rebound.example", "Accept": "text/html"})
    assert (answer.status_code, answer.mimetype) == (421, "application/problem+json")


def test_nor_does_it_have_anything_calculated(client):
    at = "http://rebound.example:8080"
    headers = {"Origin": at, "Host": "rebound.example:8080"}
    answer = client.post("/v1/fit-check", json=EXAMPLES["fit-check"], headers=headers)
    assert answer.status_code == 421
    assert "localhost" in answer.get_json()["detail"]


def test_a_caller_from_before_there_was_host_is_answered(app):
    environ = {"PATH_INFO": "/healthz", "SERVER_PROTOCOL": "HTTP/1.0"}
    setup_testing_defaults(environ)
    del environ["HTTP_HOST"]
    statuses = []
    app(environ, lambda status, *_: statuses.append(status))
    assert statuses == ["200 OK"]


def test_any_name_will_do_where_tokens_or_a_setting_say_who_may_ask(tmp_path):
    tokens = tmp_path / "tokens"
    # SHA-256 of "abc", the example of FIPS 180-2 (from memory)
    tokens.write_text("a ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")
    headers = {"Host": "club.example", "Authorization": "Bearer abc"}
    for settings in (Settings(tokens_file=str(tokens)), Settings(allow_open=True)):
        client = create_app(settings, core_rules()).test_client()
        assert client.get("/v1/units", headers=headers).status_code == 200
