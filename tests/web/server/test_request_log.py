"""What the server itself writes to the log repeats nothing that a caller wrote."""

from __future__ import annotations

import logging
import socket
from urllib.parse import urlsplit

import pytest
import requests

from drawmark.web.server.request_log import redact
from servers import wait_for
from web.serving import serving


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
