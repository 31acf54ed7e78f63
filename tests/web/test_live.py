"""The real service under gunicorn, on loopback."""

from __future__ import annotations

import socket
import subprocess
import sys
from urllib.parse import urlsplit

import pytest
import requests

from drawmark.web.examples import EXAMPLES


def talk(url, data):
    parts = urlsplit(url)
    with socket.create_connection((parts.hostname, parts.port), timeout=10) as connection:
        connection.sendall(data)
        connection.shutdown(socket.SHUT_WR)
        received = b""
        while block := connection.recv(65536):
            received += block
    return received


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_example_over_http(live, path):
    assert requests.post(f"{live}/v1/{path}", json=EXAMPLES[path], timeout=10).status_code == 200


HEAD = b"POST /v1/fit-check HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"


@pytest.mark.parametrize(
    "rest",
    [
        pytest.param(b"Transfer-Encoding: chunked\r\n\r\nzz\r\n{}\r\n0\r\n\r\n", id="malformed"),
        pytest.param(b"Transfer-Encoding: chunked\r\n\r\n5\r\n{}", id="truncated chunk"),
        pytest.param(b"Content-Length: 500\r\n\r\n{}", id="truncated body"),
    ],
)
def test_broken_body_is_a_client_error_and_the_service_stays(live, rest):
    received = talk(live, HEAD + rest)
    assert received == b"" or received.split(b" ")[1].startswith(b"4")
    assert requests.get(live + "/healthz", timeout=10).status_code == 200


def test_chunked_body_is_read(live):
    import json

    body = json.dumps(EXAMPLES["fit-check"]).encode()
    response = requests.post(
        f"{live}/v1/fit-check",
        data=iter([body[:50], body[50:]]),
        headers={"Content-Type": "application/json"},
        timeout=10,
    )
    assert response.json()["verdict"] == "pass"


def run(*arguments, **environment):
    import os

    return subprocess.run(
        [sys.executable, "-m", "drawmark.cli", *arguments],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        timeout=60,
    )


@pytest.mark.parametrize(
    ("arguments", "environment", "words"),
    [
        (["serve", "--port", "99999"], {}, "--port must be"),
        (["serve", "--host", "0.0.0.0"], {}, "DRAWMARK_ALLOW_OPEN"),
        (["serve"], {"WEB_CONCURRENCY": "many"}, "WEB_CONCURRENCY must be"),
        (["serve"], {"DRAWMARK_CONFIG": "nowhere.toml"}, "cannot be read"),
    ],
)
def test_bad_setting_is_one_line(arguments, environment, words):
    done = run(*arguments, **environment)
    assert done.returncode == 2
    assert words in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_taken_port_is_one_line(live):
    done = run("serve", "--port", str(urlsplit(live).port))
    assert done.returncode == 2
    assert "cannot listen" in done.stderr
    assert len(done.stderr.splitlines()) == 1
