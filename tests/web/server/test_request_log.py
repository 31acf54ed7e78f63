"""What the server itself writes to the log repeats nothing that a caller wrote."""

from __future__ import annotations

import json
import logging
import os
import signal
import socket
import sys
from urllib.parse import urlsplit

import pytest
import requests

from drawmark.web.document.examples import EXAMPLES
from drawmark.web.server.json_log import JsonFormatter
from drawmark.web.server.request_log import redact
from faults.test_log import BROKEN
from servers import install, wait_for
from web.serving import hang_up, serving

MEMBERS = {"time", "level", "message"}


@pytest.mark.parametrize(
    ("message", "arguments", "line"),
    [
        (
            "Invalid request from ip=192.0.2.1: Invalid HTTP header name: 'Bearer secret'",
            (),
            "Invalid request from ip=192.0.2.1",
        ),
        (
            "Error handling request %s %s",
            ("GET", "/v1/rules?token=secret"),
            "Error handling request GET /v1/rules",
        ),
        ("Worker (pid:%s) was sent %s!", (7, "SIGKILL"), "Worker (pid:7) was sent SIGKILL!"),
        ("%d %% of it", (5,), "5 % of it"),
    ],
)
def test_line_of_the_server(message, arguments, line):
    record = logging.LogRecord("gunicorn.error", 30, "", 0, message, arguments, None)
    assert redact(record)
    assert record.getMessage() == line


MALFORMED = [
    b"GET /v1/rules?secret HTTP/9.9\r\n\r\n",
    b"GET /secret secret HTTP/1.1\r\n\r\n",
    b"GET / HTTP/1.1\r\nAuthorization Bearer secret\r\n\r\n",
    b"GET / HTTP/1.1\r\nBearer secret: x\r\n\r\n",
    b"GET / HTTP/1.1\r\nA: x\r\n secret\r\n\r\n",
    b"secret\r\n\r\n",
    b"POST / HTTP/1.1\r\nTransfer-Encoding: secret\r\n\r\n",
]


def test_nothing_that_was_sent_is_in_the_log(tmp_path):
    with serving(tmp_path) as served:
        at = urlsplit(served.url)
        for request in MALFORMED:
            with socket.create_connection((at.hostname, at.port), timeout=10) as connection:
                connection.sendall(request)
                connection.shutdown(socket.SHUT_WR)
                while connection.recv(65536):
                    pass
        requests.post(
            served.url + "/v1/fit-check?secret=secret",
            data='{"secret": "secret"}',
            headers={"Authorization": "Bearer secret", "Cookie": "secret", "Referer": "secret"},
            timeout=10,
        )
        wait_for(lambda: '"POST"' in served.log.read_text(encoding="utf-8"))
        log = served.log.read_text(encoding="utf-8")
    assert "Invalid request from" in log
    assert "secret" not in log
    assert all(json.loads(line).keys() >= MEMBERS for line in log.splitlines())


def test_a_traceback_is_one_line_of_json():
    try:
        raise ValueError("a fault \ud800")
    except ValueError:
        record = logging.LogRecord("drawmark", 40, "", 0, "%s failed", ("x",), sys.exc_info())
    text = JsonFormatter().format(record)
    line = json.loads(text)
    assert len(text.splitlines()) == 1
    assert line.keys() == {*MEMBERS, "traceback"}
    assert (line["level"], line["message"]) == ("error", "x failed")
    assert line["traceback"].endswith("ValueError: a fault \\ud800")


def test_a_name_of_a_file_that_is_no_text():
    record = logging.LogRecord("drawmark", 40, "", 0, "%s.toml has faults", ("el\udcffm",), None)
    line = json.loads(JsonFormatter().format(record))
    assert line["message"] == "el\\udcffm.toml has faults"


def test_a_connection_that_stood_still_needs_no_traceback():
    try:
        raise BlockingIOError
    except BlockingIOError:
        words = "Socket error processing request."
        record = logging.LogRecord("gunicorn.error", 40, "", 0, words, (), sys.exc_info())
    assert redact(record)
    assert (record.getMessage(), record.exc_info) == (
        "a connection that stood still was closed",
        None,
    )


def test_every_line_of_a_service_is_json(tmp_path):
    config = tmp_path / "club.toml"
    config.write_text("[rulesets.club]\n")
    environment = install(tmp_path, "broken", BROKEN) | {"DRAWMARK_CONFIG": str(config)}
    config.write_text('[rulesets.club]\nplugins = ["broken"]\n')
    with serving(tmp_path, **environment) as served:
        body = {**EXAMPLES["fit-check"]}
        assert requests.post(served.url + "/v1/fit-check", json=body, timeout=10).ok
        wait_for(lambda: len(served.children) == 2)
        victim = min(served.children)
        os.kill(victim, signal.SIGKILL)
        wait_for(lambda: victim not in served.children and len(served.children) == 2)
        hang_up(served)
        config.write_text("default = [")
        hang_up(served)
    lines = [json.loads(line) for line in served.log.read_text(encoding="utf-8").splitlines()]
    assert all(line.keys() >= MEMBERS for line in lines)
    assert any("a fault that is logged" in line.get("traceback", "") for line in lines)
    told = " ".join(line["message"] for line in lines)
    for words in ("listens on", "answered", "SIGKILL", "were reloaded", "nothing was reloaded"):
        assert words in told
    assert "UserWarning: a warning that is logged" in told
