"""Request ids, headers, and what is caught when nothing else catches it."""

from __future__ import annotations

import errno
import json
from datetime import datetime, timedelta
from wsgiref.util import setup_testing_defaults

import pytest

from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.metrics import metrics_of_process
from drawmark.web.server.observability import RequestObserver
from drawmark.web.server.request_log import request_log
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules

ANSWERED = {"level": "info", "message": "answered"}
TRACE = "4bf92f3577b34da6a3ce929d0e0e4736"


@pytest.mark.parametrize(
    ("headers", "identity"),
    [
        pytest.param({"X-Request-ID": "club-1.a_b"}, "club-1.a_b", id="as stated"),
        # the example value of the W3C Trace Context recommendation (from memory)
        pytest.param({"traceparent": f"00-{TRACE}-00f067aa0ba902b7-01"}, TRACE, id="of the trace"),
        pytest.param({"X-Request-ID": "a" * 65}, None, id="too long"),
        pytest.param({"X-Request-ID": "a b"}, None, id="odd characters"),
        pytest.param({"traceparent": "00-xyz-1-01"}, None, id="no trace"),
        pytest.param({}, None, id="none"),
    ],
)
def test_request_id(client, headers, identity):
    given = client.get("/healthz", headers=headers).headers["X-Request-ID"]
    if identity is None:
        assert len(given) == 32
        assert set(given) <= set("0123456789abcdef")
    else:
        assert given == identity


@pytest.mark.parametrize("path", ["/healthz", "/v1/nothing", "/v1/fit-check"])
def test_headers_of_every_response(client, path):
    headers = client.get(path).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cache-Control"] == "no-store"
    assert headers["Vary"] == "Accept"


@pytest.mark.parametrize("accept", ["text/csv", "application/json;q=0", "image/png", "*/*"])
def test_json_whatever_is_asked_for(client, accept):
    response = client.post("/v1/fit-check", json=EXAMPLES["fit-check"], headers={"Accept": accept})
    assert response.status_code == 200
    assert response.mimetype == "application/json"
    problem = client.get("/v1/nothing", headers={"Accept": accept})
    assert problem.mimetype == "application/problem+json"


@pytest.fixture
def lines(capfd, monkeypatch):
    """Gives the lines of the log so far, each with a time and how long it took."""
    monkeypatch.setattr(request_log, "is_on", True)

    def read():
        found = [json.loads(line) for line in capfd.readouterr().err.splitlines()]
        for line in found:
            assert line.pop("ms") >= 0
            assert datetime.fromisoformat(line.pop("time")).utcoffset() == timedelta(0)
        return found

    return read


def test_line_in_the_log(client, lines):
    client.post("/v1/fit-check?draw=secret", json={"x": "secret"}, headers={"X-Request-ID": "r"})
    client.get("/secret", headers={"X-Request-ID": "s", "Authorization": "Bearer secret"})
    assert lines() == [
        {**ANSWERED, "id": "r", "method": "POST", "route": "/v1/fit-check", "status": 422},
        {**ANSWERED, "id": "s", "method": "GET", "route": "unmatched", "status": 404},
    ]


@pytest.mark.parametrize("proxies", [0, 1])
def test_the_address_of_a_caller_is_in_the_log_by_setting(lines, proxies):
    settings = Settings(log_addresses=True, trusted_proxies=proxies)
    client = create_app(settings, core_rules()).test_client()
    client.get("/healthz", headers={"X-Forwarded-For": "192.0.2.7"})
    (line,) = lines()
    assert line["address"] == ("192.0.2.7" if proxies else "127.0.0.1")


def test_a_log_that_cannot_be_written_costs_no_answer(client, monkeypatch):
    def refuse(file, data):
        raise OSError(errno.ENOSPC, "no space left on device")

    monkeypatch.setattr(request_log, "is_on", True)
    monkeypatch.setattr("drawmark.web.server.request_log.os.write", refuse)
    assert client.get("/healthz").status_code == 200


@pytest.mark.parametrize("fault", [SystemExit(3), KeyboardInterrupt(), RuntimeError("x")])
def test_nothing_ends_a_worker(fault):
    app = create_app(rules=core_rules())

    def fail():
        raise fault

    app.add_url_rule("/fail", "fail", fail)
    environ = {"PATH_INFO": "/fail"}
    setup_testing_defaults(environ)
    started = []
    (body,) = app(environ, lambda status, headers, *_: started.append((status, dict(headers))))
    ((status, headers),) = started
    assert status.startswith("500")
    assert headers["Content-Type"] == "application/problem+json"
    assert json.loads(body)["title"] == "Internal Server Error"
    assert b"Traceback" not in body


def streamed(parts, closed):
    """An application that answers in parts of unknown length, and the environment to ask it."""

    class Body:
        def __iter__(self):
            return parts()

        def close(self):
            closed.append(True)

    def application(environ, start_response):
        start_response("200 OK", [("Content-Type", "application/x-ndjson")])
        return Body()

    environ = {"PATH_INFO": "/v1/lines", "HTTP_X_REQUEST_ID": "r"}
    setup_testing_defaults(environ)
    watched = RequestObserver(application, Settings(), metrics_of_process(), ["/v1/lines"])
    return watched(environ, lambda *_: None)


def test_a_stream_is_noted_once_when_it_ends(lines):
    closed = []
    body = streamed(lambda: iter([b"1\n", b"2\n"]), closed)
    assert lines() == []
    assert list(body) == [b"1\n", b"2\n"]
    body.close()
    assert closed == [True]
    assert lines() == [
        {**ANSWERED, "id": "r", "method": "GET", "route": "/v1/lines", "status": 200}
    ]


@pytest.mark.parametrize("fault", [ValueError("x"), SystemExit(3), KeyboardInterrupt()])
def test_a_stream_that_fails_ends_no_worker_and_is_noted_as_torn(lines, caplog, fault):
    def parts():
        yield b"1\n"
        raise fault

    closed = []
    body = streamed(parts, closed)
    parts_sent = iter(body)
    assert next(parts_sent) == b"1\n"
    with pytest.raises(RuntimeError, match="the response was cut off"):
        next(parts_sent)
    body.close()
    assert closed == [True]
    assert [line["torn"] for line in lines() if "torn" in line] == [True]
    assert "request r failed" in caplog.text


def test_a_stream_whose_caller_has_gone_is_noted_as_torn(lines):
    closed = []
    body = streamed(lambda: iter([b"1\n", b"2\n"]), closed)
    next(iter(body))
    body.close()
    assert [line.get("torn") for line in lines()] == [True]
