"""No spelling of a path and no place of a token lets a caller in who has none."""

from __future__ import annotations

import hashlib
import json
from types import SimpleNamespace

import pytest
import requests

from drawmark.tokens import make_token
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.server.rate_limit import client_address
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules
from security.messages import HOST, statuses_of, talk
from servers import wait_for

PATHS = {
    "dots": b"/healthz/../v1/rules",
    "dots, encoded": b"/healthz/%2e%2e/v1/rules",
    "dots and slash, encoded": b"/healthz/..%2fv1%2frules",
    "encoded twice": b"/healthz/%252e%252e/v1/rules",
    "a slash, encoded": b"/v1%2frules",
    "a backslash": b"/healthz\\..\\v1\\rules",
    "a null behind it": b"/healthz%00",
    "a null before it": b"/%00healthz",
    "a line feed": b"/healthz%0a",
    "overlong UTF-8": b"/healthz%c0%af..%c0%afv1%c0%afrules",
    "no UTF-8": b"/healthz%ff",
    "wide letters": "/ｈealthz".encode(),
    "wide letters, encoded": b"/%ef%bd%88ealthz",
    "dots of another kind": b"/%e2%80%a5/v1/rules",
    "capitals": b"/HEALTHZ",
    "a slash at the end": b"/healthz/",
    "two slashes": b"//healthz",
    "a dot": b"/./healthz",
    "a parameter": b"/healthz;x",
    "a blank": b"/healthz%20",
    "half an encoding": b"/healthz%",
    "no encoding": b"/healthz%zz",
    "a path in the query": b"/v1/rules?/healthz",
    "a page of the bench": b"/bench.js/../v1/rules",
}


@pytest.mark.parametrize("path", PATHS.values(), ids=PATHS)
def test_no_spelling_of_an_open_path_opens_another(guarded, path):
    message = b"GET " + path + b" HTTP/1.1\r\n" + HOST + b"Connection: close\r\n\r\n"
    assert statuses_of(talk(guarded.port, message)) in ([401], [400], [404])


@pytest.mark.parametrize("path", PATHS.values(), ids=PATHS)
def test_nor_is_it_a_fault_with_a_token(guarded, path):
    token = f"Authorization: Bearer {guarded.token}\r\n".encode()
    message = b"GET " + path + b" HTTP/1.1\r\n" + HOST + token + b"Connection: close\r\n\r\n"
    expected = 200 if path in (b"/v1%2frules", b"/v1/rules?/healthz") else 404
    assert statuses_of(talk(guarded.port, message)) in ([expected], [400])


@pytest.mark.parametrize("name", ["token", "access_token", "Authorization"])
def test_a_token_in_the_query_lets_nobody_in_and_is_not_logged(guarded, name):
    url = f"{guarded.process.url}/v1/rules?{name}="
    for given in (guarded.token, f"Bearer%20{guarded.token}"):
        assert requests.get(url + given, timeout=10).status_code == 401
    assert guarded.token not in guarded.process.written()


def test_a_token_in_a_cookie_or_a_body_lets_nobody_in(guarded):
    url = f"{guarded.process.url}/v1/fit-check"
    body = {**EXAMPLES["fit-check"], "token": guarded.token}
    cookies = {"token": guarded.token, "Authorization": f"Bearer {guarded.token}"}
    assert requests.post(url, json=body, cookies=cookies, timeout=10).status_code == 401
    assert guarded.token not in guarded.process.written()


def test_a_token_that_is_used_is_logged_by_its_name_alone(guarded):
    token = {"Authorization": f"Bearer {guarded.token}", "X-Request-ID": "by-name"}
    requests.get(f"{guarded.process.url}/v1/rules", headers=token, timeout=10)
    wait_for(lambda: "by-name" in guarded.process.written())
    (line,) = (one for one in guarded.process.written().splitlines() if "by-name" in one)
    assert json.loads(line)["caller"] == "club-app"
    assert guarded.token not in guarded.process.written()


def test_a_guess_is_hashed_once_before_it_is_looked_up(tmp_path, monkeypatch):
    """By its SHA-256 a guess that begins well is as far off as any other, so time tells nothing."""
    made = [make_token(f"n{number}") for number in range(5)]
    (tmp_path / "tokens").write_text("".join(f"{line}\n" for _, line in made))
    settings = Settings(tokens_file=str(tmp_path / "tokens"))
    client = create_app(settings, core_rules()).test_client()
    hashed = []

    def sha256(text):
        hashed.append(text.decode())
        return hashlib.sha256(text)

    monkeypatch.setattr("drawmark.tokens.hashlib", SimpleNamespace(sha256=sha256))

    def ask(guess):
        hashed.clear()
        return client.get("/v1/units", headers={"Authorization": f"Bearer {guess}"}).status_code

    for token, _ in made:
        assert (ask(token), hashed) == (200, [token])
        for guess in (f"{token[:-1]}~", token[:-1], f"{token}A", f"~{token[1:]}", token.swapcase()):
            assert (ask(guess), hashed) == (401, [guess])


@pytest.mark.parametrize("proxies", [0, 1, 2])
def test_only_what_trusted_proxies_wrote_counts_as_an_address(proxies):
    """A caller may state what it will; each trusted proxy appends the address that it sees."""
    stated = ["198.51.100.1", "127.0.0.1", "::1"]
    seen = ["192.0.2.7", "192.0.2.8"][:proxies]
    environ = {"REMOTE_ADDR": "192.0.2.9", "HTTP_X_FORWARDED_FOR": ", ".join(stated + seen)}
    assert client_address(environ, proxies) == (seen or ["192.0.2.9"])[0]


@pytest.mark.parametrize(
    ("headers", "address"),
    [
        (b"X-Forwarded-For: 192.0.2.7\r\n", "192.0.2.7"),
        (b"X-Forwarded-For: 198.51.100.1\r\nX-Forwarded-For: 192.0.2.7\r\n", "192.0.2.7"),
        (b"X_Forwarded_For: 192.0.2.7\r\n", "127.0.0.1"),
        (b"Forwarded: for=192.0.2.7\r\n", "127.0.0.1"),
        (b"X-Real-IP: 192.0.2.7\r\n", "127.0.0.1"),
        (b'X-Forwarded-For: fe80::1%"}\r\n', "fe80::/64"),
        (b"X-Forwarded-For: \xe2\x80\xae\r\n", "?"),
    ],
)
def test_no_other_header_states_an_address(guarded, headers, address):
    start = len(guarded.process.written())
    message = b"GET /v1/rules HTTP/1.1\r\n" + HOST + headers + b"Connection: close\r\n\r\n"
    assert statuses_of(talk(guarded.port, message)) == [401]
    wait_for(lambda: "answered" in guarded.process.written()[start:])
    (line,) = guarded.process.written()[start:].splitlines()
    assert json.loads(line)["address"] == address
