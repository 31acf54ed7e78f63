"""The service's own limits of one token: rate, items and calculations at once, in each worker."""

from __future__ import annotations

import json

import pytest

from drawmark.tokens import make_token
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.server.gateway import Gateway
from drawmark.web.settings import Settings
from drawmark.web.wire.callers import read_callers
from drawmark.web.wire.installed_rules import core_rules
from web.clubs import Federation

ITEM = EXAMPLES["fit-check"]
LINES = {"Content-Type": "application/x-ndjson"}


@pytest.fixture
def asking(tmp_path):
    """Make a service whose tokens have these words; give its client and each one's headers."""

    def make(*words, **settings):
        made = [make_token(f"n{number}", one.split()) for number, one in enumerate(words)]
        file = tmp_path / "tokens"
        file.write_text("\n".join(line for _, line in made))
        service = create_app(Settings(tokens_file=str(file), **settings), core_rules())
        return service.test_client(), [{"Authorization": f"Bearer {token}"} for token, _ in made]

    return make


def statuses(client, headers, count):
    return [client.get("/v1/units", headers=headers).status_code for _ in range(count)]


def test_rate_of_a_token_takes_the_place_of_the_services(asking):
    client, (slow, quick, usual) = asking("rate=1", "rate=5", "", rate_limit=2)
    assert statuses(client, slow, 3) == [200, 429, 429]
    assert statuses(client, quick, 6) == [200] * 5 + [429]
    assert statuses(client, usual, 3) == [200, 200, 429]


def test_rate_of_a_token_alone(asking):
    client, (slow, usual) = asking("rate=1", "")
    assert statuses(client, slow, 2) == [200, 429]
    assert statuses(client, usual, 50) == [200] * 50
    refused = client.get("/v1/units", headers=slow)
    assert refused.headers["Retry-After"] == "1"


@pytest.mark.parametrize("count", [1, 3, 4, 12])
def test_items_of_a_batch_and_of_a_stream(asking, count):
    client, (few, many) = asking("items=3", "")
    batch = {"items": [ITEM] * count}
    lines = "\n\n".join([json.dumps(ITEM)] * count)
    for headers, most in ((few, 3), (many, 10_000)):
        answers = [
            client.post("/v1/fit-check/batch", json=batch, headers=headers),
            client.post("/v1/fit-check/batch", data=lines, headers={**headers, **LINES}),
        ]
        for answer in answers:
            assert answer.status_code == (200 if count <= most else 422)
            if count > most:
                detail = answer.get_json()["detail"]
                assert detail == "This token may send at most 3 items at once."
        if count <= most:
            assert len(answers[0].get_json()["items"]) == count
            assert len(answers[1].text.splitlines()) == count + 1


def test_lines_that_are_no_items_count_too(asking):
    client, (few,) = asking("items=3")
    for line in ("x", "{", "[" * 70_000):
        answer = client.post(
            "/v1/fit-check/batch", data="\n".join([line] * 4), headers={**few, **LINES}
        )
        assert answer.status_code == 422


class Inner:
    """An application whose answers are held until a test closes them."""

    def __call__(self, environ, start_response):
        start_response("200 OK", [])
        return [b"x"]


def test_calculations_at_once_of_a_token(tmp_path):
    made = {"few": make_token("few", ["at_once=2"]), "usual": make_token("usual")}
    file = tmp_path / "tokens"
    file.write_text("\n".join(line for _, line in made.values()))
    settings = Settings(tokens_file=str(file))
    gateway = Gateway(Inner(), settings, read_callers(settings, core_rules()))

    def call(name, method="POST", path="/v1/fit-check"):
        started = []
        environ = {
            "PATH_INFO": path,
            "REQUEST_METHOD": method,
            "HTTP_AUTHORIZATION": f"Bearer {made[name][0]}",
        }
        body = gateway(environ, lambda *given: started.append(given))
        return body, started[0][0], dict(started[0][1])

    first, second = call("few")[0], call("few", path="/v1/fit-check/batch")[0]
    body, status, headers = call("few")
    assert status == "429 Too Many Requests"
    assert headers["Retry-After"] == "1"
    assert b"as many calculations under way" in b"".join(body)
    assert call("few", "GET", "/v1/rules")[1] == "200 OK"
    assert call("usual")[1] == "200 OK"
    first.close()
    third, status, _ = call("few")
    assert status == "200 OK"
    for held in (second, third):
        held.close()
    assert [call("few")[1] for _ in range(2)] == ["200 OK"] * 2


@pytest.mark.parametrize(("threads", "most"), [(2, 1), (8, 2), (16, 4)])
def test_long_requests_at_once_of_a_club_among_others(tmp_path, threads, most):
    federation = Federation(tmp_path)
    for name, club in (("a-app", "alder"), ("a-indoor", "alder"), ("b-app", "birch")):
        federation.club(club)
        federation.token(name, f"club={club}")
    gateway = Gateway(
        Inner(), federation.settings(threads=threads), federation.callers(threads=threads)
    )

    def unread(name, path="/v1/fit-check/batch"):
        """Ask, and read the first piece of the answer only."""
        started = []
        sent = federation.sent[name]["Authorization"]
        environ = {"PATH_INFO": path, "REQUEST_METHOD": "POST", "HTTP_AUTHORIZATION": sent}
        pieces = iter(gateway(environ, lambda *given: started.append(given)))
        next(pieces)
        return pieces, started[0][0][:3]

    held = [unread(name) for name in ["a-app", "a-indoor"] * most]
    assert [status for _, status in held] == ["200"] * most + ["429"] * most
    assert unread("a-app", "/v1/fit-check")[1] == "200"
    if threads > 2:
        assert unread("b-app")[1] == "200"
    held[0][0].close()
    assert unread("a-indoor")[1] == "200"


def test_what_is_refused_at_the_whole_services_limit_keeps_no_place(asking):
    client, (few,) = asking("at_once=1", threads=1)
    for _ in range(3):
        assert client.post("/v1/fit-check", json=ITEM, headers=few).status_code == 200
        assert client.post("/v1/fit-check", data="x", headers=few).status_code == 415
