"""Callers that stop in the middle of a request lose their connection, wherever they stop."""

from __future__ import annotations

import json
import socket
import sys
import time
from contextlib import ExitStack
from urllib.parse import urlsplit

import pytest

from servers import FIT_CHECK, Process, ask, free_port, running

PATIENCE = 1.5
"""What a quarter of the threads wait, of a service that is soon impatient."""
SERVER = f"""
import sys
from functools import partial
from drawmark.web import create_app
from drawmark.web.server import gunicorn_server
from drawmark.web.server.stalled_callers import use_patience
from drawmark.web.settings import Settings
gunicorn_server.use_patience = partial(use_patience, seconds={PATIENCE})
gunicorn_server.serve("127.0.0.1", int(sys.argv[1]), Settings(workers=1), create_app)
"""
HEAD = b"POST /v1/fit-check HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
LENGTH = b"Content-Length: %d\r\n\r\n"
HALVES = {
    "before the first line": b"",
    "in the first line": HEAD[:20],
    "in the header": HEAD,
    "in the body": HEAD + LENGTH % len(FIT_CHECK) + FIT_CHECK[:20],
    "in a chunk": HEAD + b"Transfer-Encoding: chunked\r\n\r\n10\r\n{}",
    "in a large body": HEAD.replace(b"-check", b"-check/batch") + LENGTH % 10**6 + b"{",
    "in a body that is refused": HEAD.replace(b"fit-check", b"nothing") + LENGTH % 10**4 + b"{",
    "in a large one": HEAD.replace(b"fit-check", b"nothing") + LENGTH % 10**6 + b"{",
    "after what is no HTTP": b"nothing\r\n\r\n",
    "before they read": b"GET /openapi.json HTTP/1.1\r\nHost: x\r\n\r\n" * 20,
}


@pytest.fixture(scope="module")
def impatient(tmp_path_factory):
    """A service of one worker with eight threads, stopped by its own process id."""
    port, log = free_port(), tmp_path_factory.mktemp("silent") / "log"
    with running(Process([sys.executable, "-c", SERVER, str(port)], port, log)) as served:
        yield served


def stalled(port, sent):
    """A connection on which a part of a request was sent, and of whose answers little is read."""
    caller = socket.socket()
    caller.settimeout(20)
    caller.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    caller.connect(("127.0.0.1", port))
    caller.sendall(sent)
    return caller


@pytest.mark.parametrize("count", [8, 16])
@pytest.mark.parametrize("sent", HALVES.values(), ids=HALVES)
def test_others_are_answered_beside_callers_that_stop(impatient, sent, count):
    with ExitStack() as held:
        for _ in range(count):
            held.enter_context(stalled(impatient.port, sent))
        time.sleep(0.1)
        for _ in range(3):
            begun = time.monotonic()
            assert ask(impatient.port, "/healthz", None)[0] == 200
            assert time.monotonic() - begun < 2
    assert "Traceback" not in impatient.written()


@pytest.mark.parametrize("kind", [b"json", b"x-ndjson"])
def test_a_batch_is_answered_beside_one_that_does_not_arrive(impatient, kind):
    batch = b'{"items":[%b]}' % FIT_CHECK
    with stalled(impatient.port, HALVES["in a large body"].replace(b"json", kind)):
        time.sleep(0.3)
        assert ask(impatient.port, "/v1/fit-check/batch", batch)[0] == 200


@pytest.mark.parametrize("where", ["in the first line", "in the header", "in the body"])
def test_a_few_are_waited_for_but_not_for_ever(impatient, where):
    begun = time.monotonic()
    with stalled(impatient.port, HALVES[where]) as caller:
        answer = b""
        while block := caller.recv(65536):
            answer += block
    assert answer[:13] in (b"", b"HTTP/1.1 400 ")
    assert PATIENCE < time.monotonic() - begun < PATIENCE + 2


def test_a_caller_that_goes_on_in_time_is_answered(impatient):
    at = len(HEAD) + 30
    whole = HEAD + LENGTH % len(FIT_CHECK) + FIT_CHECK
    with stalled(impatient.port, whole[:20]) as caller:
        for part in (whole[20:at], whole[at:]):
            time.sleep(0.6)
            caller.sendall(part)
        assert caller.recv(100).startswith(b"HTTP/1.1 200 ")


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
