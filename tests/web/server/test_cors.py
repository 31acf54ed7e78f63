"""Pages of other origins: none may ask, unless it is named."""

from __future__ import annotations

import pytest

from drawmark.web import create_app
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules

CLUB = "https://club.example"
ASKS = {"Access-Control-Request-Method": "POST"}


@pytest.fixture(scope="module")
def named(tmp_path_factory):
    tokens = tmp_path_factory.mktemp("tokens") / "tokens"
    # SHA-256 of "abc", the example of FIPS 180-2 (from memory)
    tokens.write_text("a ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")
    settings = Settings(cors_origins=(CLUB,), tokens_file=str(tokens))
    return create_app(settings, core_rules()).test_client()


def cors_of(response):
    return {name for name, _ in response.headers if name.startswith("Access-Control")}


@pytest.mark.parametrize("method", ["GET", "OPTIONS"])
def test_nothing_is_said_unless_it_is_set(client, method):
    headers = {"Origin": CLUB, **ASKS}
    response = client.open("/v1/rules", method=method, headers=headers)
    assert response.status_code == (200 if method == "GET" else 405)
    assert cors_of(response) == set()
    assert response.headers["Vary"] == "Accept"


def test_a_preflight_needs_no_token(named):
    response = named.options("/v1/fit-check", headers={"Origin": CLUB, **ASKS})
    assert (response.status_code, response.data) == (204, b"")
    assert response.headers["Access-Control-Allow-Origin"] == CLUB
    assert "POST" in response.headers["Access-Control-Allow-Methods"]
    allowed = response.headers["Access-Control-Allow-Headers"]
    assert {"Authorization", "Content-Type"} <= set(allowed.split(", "))
    assert "Access-Control-Allow-Credentials" not in response.headers


@pytest.mark.parametrize(
    "origin",
    ["https://other.example", "http://club.example", CLUB + ":444", "null", CLUB + ".evil.example"],
)
def test_other_origins_are_not_answered(named, origin):
    response = named.options("/v1/fit-check", headers={"Origin": origin, **ASKS})
    assert response.status_code == 401
    assert cors_of(response) == set()
    assert response.headers["Vary"] == "Accept, Origin"


@pytest.mark.parametrize(("path", "status"), [("/healthz", 200), ("/v1/rules", 401)])
def test_a_page_may_read_the_answer_a_refusal_too(named, path, status):
    response = named.get(path, headers={"Origin": CLUB})
    assert response.status_code == status
    assert response.headers["Access-Control-Allow-Origin"] == CLUB
    assert "X-Request-ID" in response.headers["Access-Control-Expose-Headers"]


def test_options_alone_is_no_preflight(named):
    response = named.options("/v1/rules", headers={"Origin": CLUB, "Authorization": "Bearer abc"})
    assert response.status_code == 405
