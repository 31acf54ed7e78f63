"""The real service under gunicorn, on loopback."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
from contextlib import suppress
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import requests

from drawmark import __version__, cli
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.server import gunicorn_server
from servers import free_port


def talk(url, data, more=True):
    parts = urlsplit(url)
    with socket.create_connection((parts.hostname, parts.port), timeout=10) as connection:
        connection.sendall(data)
        if not more:
            # The service may have closed already; its answer is there to be read all the same.
            with suppress(OSError):
                connection.shutdown(socket.SHUT_WR)
        received = b""
        while block := connection.recv(65536):
            received += block
    return received


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_example_over_http(live, path):
    assert requests.post(f"{live}/v1/{path}", json=EXAMPLES[path], timeout=10).status_code == 200


HEAD = (
    b"POST /v1/fit-check HTTP/1.1\r\nHost: x\r\nConnection: close\r\n"
    b"Content-Type: application/json\r\n"
)
CHUNKED = b"Transfer-Encoding: chunked\r\n\r\n"
FIT = json.dumps(EXAMPLES["fit-check"]).encode()
WHOLE = b"%x\r\n%s\r\n" % (len(FIT), FIT)


@pytest.mark.parametrize(
    ("rest", "status"),
    [
        pytest.param(CHUNKED + b"zz\r\n{}\r\n0\r\n\r\n", 400, id="malformed chunk size"),
        pytest.param(CHUNKED + WHOLE[:-2] + b"XX0\r\n\r\n", 400, id="malformed end of a chunk"),
        pytest.param(CHUNKED + b"5\r\n{}", 400, id="truncated chunk"),
        pytest.param(CHUNKED + WHOLE, 400, id="chunks without an end"),
        pytest.param(CHUNKED + b"FFFFFFFFFFFF\r\n{}", 400, id="huge chunk"),
        pytest.param(b"Content-Length: 500\r\n\r\n{}", 400, id="truncated body"),
        pytest.param(
            b"Content-Length: 2000\r\n\r\n" + FIT, 400, id="truncated body that is whole JSON"
        ),
        pytest.param(b"Content-Length: 65536\r\n\r\n" + FIT, 400, id="truncated large body"),
        pytest.param(b"Content-Length: 99999999\r\n\r\n{}", 413, id="too long"),
        pytest.param(
            CHUNKED + b"100000\r\n%s\r\n" % (b" " * 0x100000) * 17 + b"0\r\n\r\n",
            413,
            id="too long in chunks",
        ),
        pytest.param(CHUNKED + WHOLE + b"0\r\n\r\n", 200, id="chunks"),
        pytest.param(
            b"Transfer-Encoding: gzip, chunked\r\n\r\n" + WHOLE + b"0\r\n\r\n",
            501,
            id="compressed chunks",
        ),
    ],
)
def test_body_on_the_wire(live, rest, status):
    # Who has sent a whole request keeps the connection: a caller that ends it counts as gone.
    received = talk(live, HEAD + rest, more=status == 200)
    head, _, body = received.partition(b"\r\n\r\n")
    assert head.split(b" ")[1] == str(status).encode()
    if status != 200:
        assert b"Content-Type: application/problem+json" in head
        assert json.loads(body)["status"] == status
    assert requests.get(live + "/healthz", timeout=10).status_code == 200


@pytest.mark.parametrize(
    ("line", "status"),
    [
        (b"FOO /v1/fit-check", b"405"),
        (b"OPTIONS /v1/fit-check", b"405"),
        (b"GET /%ff%00", b"404"),
        (b"OPTIONS *", b"404"),
    ],
)
def test_odd_requests_are_problems(live, line, status):
    received = talk(live, line + b" HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
    assert received.split(b" ")[1] == status
    assert b"application/problem+json" in received


def threads_of(process):
    (line,) = (
        line
        for line in Path(f"/proc/{process}/status").read_text().splitlines()
        if line.startswith("Threads")
    )
    return int(line.split()[1])


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="counts threads in /proc")
def test_arithmetic_has_no_threads_of_its_own(service):
    assert threads_of(service.first) == 1


def test_log_begins_with_where_it_listens(service):
    first, *_ = service.log.read_text(encoding="utf-8").splitlines()
    line = json.loads(first)
    assert line.pop("time")
    words = f"drawmark {__version__} listens on {service.url}"
    assert line == {"level": "info", "message": words}


def test_log_has_a_line_for_a_request_and_nothing_of_its_body(service):
    body = {**EXAMPLES["fit-check"], "ruleset": "no-such-thing-in-a-log"}
    requests.post(
        f"{service.url}/v1/fit-check", json=body, headers={"X-Request-ID": "seen-1"}, timeout=10
    )
    log = service.log.read_text(encoding="utf-8")
    (line,) = (json.loads(line) for line in log.splitlines() if "seen-1" in line)
    assert line.pop("ms") >= 0
    assert line.pop("time")
    assert (line.pop("level"), line.pop("message")) == ("info", "answered")
    assert line == {"id": "seen-1", "method": "POST", "route": "/v1/fit-check", "status": 422}
    assert "no-such-thing" not in log


def run(*arguments, **environment):
    return subprocess.run(
        [sys.executable, "-m", "drawmark.cli", *arguments],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        timeout=60,
    )


def is_one_line(status, error, words):
    return status == 2 and words in error and len(error.splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "environment", "words"),
    [
        (["--port", "99999"], {}, "--port must be"),
        (["--host", "0.0.0.0"], {}, "DRAWMARK_ALLOW_OPEN"),
        (["--host", "no.such.host.invalid"], {"DRAWMARK_ALLOW_OPEN": "1"}, "cannot listen on"),
        (["--host", "no.such.host.invalid"], {}, "cannot listen on no.such.host.invalid"),
        (["--host", "no..host"], {}, "cannot listen on no..host"),
        ([], {"DRAWMARK_ALLOW_OPEN": "yes"}, "DRAWMARK_ALLOW_OPEN must be"),
        ([], {"DRAWMARK_TOKEN": "x"}, "DRAWMARK_TOKEN is not a setting"),
    ],
)
def test_bad_setting_is_one_line(monkeypatch, capsys, arguments, environment, words):
    def start(_):
        raise AssertionError("it started")

    monkeypatch.setattr(gunicorn_server, "configure_logging", start)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    status = cli.main(["serve", "--port", str(free_port()), *arguments])
    error = capsys.readouterr().err
    assert is_one_line(status, error, words), error


@pytest.mark.parametrize(
    ("environment", "words"),
    [
        # Gunicorn would read this one itself, were it imported before.
        ({"WEB_CONCURRENCY": "many"}, "WEB_CONCURRENCY must be"),
        ({"DRAWMARK_CONFIG": "nowhere.toml"}, "cannot be read"),
        ({"DRAWMARK_TOKENS_FILE": "nowhere"}, "cannot be read"),
        ({"DRAWMARK_TOKENS_FILE": os.devnull}, "holds no token"),
        ({"DRAWMARK_TOKENS_FILE": __file__}, "line 1: must be a name"),
    ],
)
def test_fault_found_at_the_start_is_one_line(environment, words):
    done = run("serve", "--port", str(free_port()), **environment)
    assert is_one_line(done.returncode, done.stderr, words), done.stderr


def test_a_file_that_cannot_be_checked_is_one_line():
    done = run("config", "check", "nowhere.toml")
    assert is_one_line(done.returncode, done.stderr, "cannot be read")


def test_taken_port_is_one_line(live):
    done = run("serve", "--port", str(urlsplit(live).port))
    assert is_one_line(done.returncode, done.stderr, "cannot listen")


def test_version_and_document_are_printed():
    assert run("--version").stdout.startswith("drawmark ")
    assert json.loads(run("openapi").stdout)["openapi"] == "3.1.0"
