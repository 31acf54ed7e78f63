"""Callers that stop in the middle of a request lose their connection, wherever they stop."""

from __future__ import annotations

import json
import socket
import sys
import time
from contextlib import ExitStack
from http.client import HTTPConnection
from urllib.parse import urlsplit

import pytest

from servers import FIT_CHECK, Process, free_port, running

PATIENCE = 1.5
SERVER = f"""
import sys
from drawmark.web import create_app
from drawmark.web.server import gunicorn_server
from drawmark.web.settings import Settings
gunicorn_server.PATIENCE = {PATIENCE}
gunicorn_server.serve("127.0.0.1", int(sys.argv[1]), Settings(workers=1, threads=4), create_app)
"""
HEAD = b"POST /v1/fit-check HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
HALVES = {
    "in the first line": HEAD[:20],
    "in the header": HEAD,
    "in the body": HEAD + b"Content-Length: %d\r\n\r\n" % len(FIT_CHECK) + FIT_CHECK[:20],
    "in a chunk": HEAD + b"Transfer-Encoding: chunked\r\n\r\n10\r\n{}",
}


@pytest.fixture(scope="module")
def impatient(tmp_path_factory):
    """A service of one worker with four threads, stopped by its own process id."""
    port, log = free_port(), tmp_path_factory.mktemp("silent") / "log"
    with running(Process([sys.executable, "-c", SERVER, str(port)], port, log)) as served:
        yield served


@pytest.mark.parametrize("sent", HALVES.values(), ids=HALVES)
def test_half_a_request_ends_and_others_are_answered(impatient, sent):
    at = urlsplit(impatient.url)
    with ExitStack() as held:
        silent = [
            held.enter_context(socket.create_connection((at.hostname, at.port), timeout=20))
            for _ in range(4)
        ]
        for one in silent:
            one.sendall(sent)
        time.sleep(0.2)
        begun = time.monotonic()
        caller = HTTPConnection(at.hostname, at.port, timeout=20)
        caller.request("GET", "/healthz")
        assert caller.getresponse().status == 200
        caller.close()
        assert time.monotonic() - begun < 2 * PATIENCE + 2
        for one in silent:
            answer = b""
            while block := one.recv(65536):
                answer += block
            assert answer[:13] in (b"", b"HTTP/1.1 400 ")
    assert "Traceback" not in impatient.written()


REFUSALS = {
    "no HTTP": (b"secret\r\n\r\n", 400),
    "a malformed header": (b"GET / HTTP/1.1\r\nsecret\r\n\r\n", 400),
    "two lengths": (b"POST / HTTP/1.1\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n", 400),
    "too long an address": (b"GET /" + b"s" * 9000 + b" HTTP/1.1\r\n\r\n", 414),
    "too large a header": (b"GET / HTTP/1.1\r\nX: " + b"s" * 9000 + b"\r\n\r\n", 431),
    "too many headers": (b"GET / HTTP/1.1\r\n" + b"X: s\r\n" * 200 + b"\r\n", 431),
    "another coding": (b"POST / HTTP/1.1\r\nTransfer-Encoding: secret\r\n\r\n", 501),
    "another version": (b"GET / HTTP/9.9\r\n\r\n", 505),
}


@pytest.mark.parametrize(("sent", "status"), REFUSALS.values(), ids=REFUSALS)
def test_what_the_server_refuses_by_itself_is_a_problem(live, sent, status):
    at = urlsplit(live)
    with socket.create_connection((at.hostname, at.port), timeout=20) as caller:
        caller.sendall(sent)
        answer = b""
        while block := caller.recv(65536):
            answer += block
    head, _, body = answer.partition(b"\r\n\r\n")
    assert int(head.split(b" ")[1]) == status
    assert b"Content-Type: application/problem+json" in head
    problem = json.loads(body)
    assert problem["status"] == status
    assert problem.keys() == {"type", "title", "status", "detail"}
    assert "secret" not in answer.decode()
