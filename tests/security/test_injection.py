"""What a caller sends never begins a header or a line of the log, and is never sent back as one."""

from __future__ import annotations

import json
from wsgiref.util import setup_testing_defaults

import pytest

from drawmark.web.server.request_log import request_log
from security.messages import HOST, talk

SPLITS = [
    "a\r\nSet-Cookie: x=1",
    "a\nSet-Cookie: x=1",
    "a\rSet-Cookie: x=1",
    "a\u0085Set-Cookie: x=1",
    "a\u2028Set-Cookie: x=1",
    "a\x00b",
    "a\n",
    "\na",
    'a","level":"error',
    "a\u202eb",
    "\u0661\u0662",
    "%0d%0aSet-Cookie: x=1",
    "<script>",
]
TRACE = "00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01"


@pytest.fixture
def lines(monkeypatch):
    written = []
    monkeypatch.setattr(request_log, "is_on", True)
    monkeypatch.setattr("os.write", lambda _, line: written.append(line))
    return written


def answered(app, **environ):
    # A server hands bytes over as signs of Latin-1.
    environ = {name: value.encode().decode("latin-1") for name, value in environ.items()}
    setup_testing_defaults(environ)
    headers = []
    body = app(environ, lambda _, given, fault=None: headers.extend(given))
    return headers, b"".join(body)


@pytest.fixture(scope="module")
def app():
    from drawmark.web import create_app
    from drawmark.web.wire.installed_rules import core_rules

    return create_app(rules=core_rules())


@pytest.mark.parametrize("text", SPLITS)
@pytest.mark.parametrize("name", ["HTTP_X_REQUEST_ID", "HTTP_TRACEPARENT"])
def test_an_id_that_is_echoed_is_one_word_or_our_own(app, lines, name, text):
    for value in (text, TRACE + text, f"{TRACE}\r\n{text}"):
        headers, _ = answered(app, PATH_INFO="/v1/units", **{name: value})
        identity = dict(headers)["X-Request-ID"]
        assert len(identity) == 32
        assert identity.isalnum()
        assert all("Set-Cookie" not in f"{name}{value}" for name, value in headers)
        assert json.loads(lines[-1])["id"] == identity


@pytest.mark.parametrize("text", SPLITS)
@pytest.mark.parametrize(
    "name",
    [
        *("PATH_INFO", "QUERY_STRING", "REQUEST_METHOD", "HTTP_HOST", "HTTP_AUTHORIZATION"),
        *("HTTP_ORIGIN", "HTTP_ACCEPT", "CONTENT_TYPE", "CONTENT_LENGTH", "HTTP_USER_AGENT"),
    ],
)
def test_nothing_else_is_echoed_or_breaks_a_line(app, lines, name, text):
    value = f"/{text}" if name == "PATH_INFO" else text
    headers, body = answered(app, **{"PATH_INFO": "/v1/units", name: value})
    assert all(sign.isprintable() for pair in headers for part in pair for sign in part)
    assert b"Set-Cookie" not in body
    assert b"<script>" not in body
    (line,) = lines
    assert len(line.splitlines()) == 1
    assert json.loads(line).keys() == {
        "time",
        "level",
        "message",
        "id",
        "method",
        "route",
        "status",
        "ms",
    }
    assert b"Set-Cookie" not in line


@pytest.mark.parametrize("text", SPLITS)
def test_on_the_wire_a_header_that_breaks_lines_adds_none_to_the_answer(service, text):
    header = b"X-Request-ID: " + text.encode() + b"\r\n"
    message = b"GET /healthz HTTP/1.1\r\n" + HOST + header + b"Connection: close\r\n\r\n"
    head, _, _ = talk(service.port, message).partition(b"\r\n\r\n")
    assert head.startswith((b"HTTP/1.1 200 ", b"HTTP/1.1 400 "))
    assert b"set-cookie" not in head.lower()
    assert all(json.loads(line) for line in service.written().splitlines())
