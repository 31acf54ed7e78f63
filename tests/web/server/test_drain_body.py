"""A request that is refused before it was read: its caller gets the refusal, and may go on."""

from __future__ import annotations

import io
import socket
import time
from urllib.parse import urlsplit

import pytest
import requests

from drawmark.web.server.drain_body import SERVER_READS, drain_after, needs_draining

LARGE = 3 * 1024 * 1024
JSON = {"Content-Type": "application/json"}


@pytest.mark.parametrize(
    ("environ", "large"),
    [
        ({}, False),
        ({"CONTENT_LENGTH": ""}, False),
        ({"CONTENT_LENGTH": str(SERVER_READS)}, False),
        ({"CONTENT_LENGTH": str(SERVER_READS + 1)}, True),
        ({"CONTENT_LENGTH": str(LARGE)}, True),
        ({"CONTENT_LENGTH": str(LARGE + 1)}, False),
        ({"HTTP_TRANSFER_ENCODING": "chunked"}, True),
    ],
)
def test_what_is_worth_reading(environ, large):
    assert needs_draining(environ, LARGE) == large


def test_the_rest_is_read_once_the_answer_is_sent_and_no_more_than_may_be():
    stream = io.BytesIO(b"x" * LARGE)
    answer = drain_after([b"no"], {"wsgi.input": stream}, LARGE - 10)
    assert list(answer) == [b"no"]
    assert stream.tell() == 0
    answer.close()
    assert stream.tell() == LARGE - 10


def test_a_fault_of_the_rest_is_nobody_s():
    class Torn:
        def read(self, size):
            raise OSError("reset")

    answer = drain_after([b"no"], {"wsgi.input": Torn()}, LARGE)
    assert list(answer) == [b"no"]
    answer.close()


def test_a_caller_that_stalls_is_not_waited_for():
    here, there = socket.socketpair()
    with here, there, here.makefile("rb") as stream:
        environ = {"wsgi.input": stream, "gunicorn.socket": here}
        answer = drain_after([b"no"], environ, LARGE, patience=0.2)
        list(answer)
        began = time.monotonic()
        answer.close()
        assert time.monotonic() - began < 2
        assert here.gettimeout() is None


@pytest.mark.parametrize(
    ("path", "headers", "status"),
    [
        pytest.param("/v1/nothing", JSON, 404, id="no such path"),
        pytest.param("/v1/rules", JSON, 405, id="no such method"),
        pytest.param("/v1/fit-check", {"Content-Type": "text/plain"}, 415, id="other type"),
    ],
)
@pytest.mark.parametrize("chunked", [False, True])
def test_connection_goes_on_after_a_refusal(live, path, headers, status, chunked):
    with requests.Session() as session:
        for _ in range(3):
            body = (b"x" * 1024 for _ in range(LARGE // 1024)) if chunked else b"x" * LARGE
            refused = session.post(live + path, data=body, headers=headers, timeout=20)
            assert refused.status_code == status
            assert session.get(live + "/healthz", timeout=20).status_code == 200


def test_a_refusal_does_not_wait_for_the_rest(live):
    at = urlsplit(live)
    with socket.create_connection((at.hostname, at.port), timeout=4) as connection:
        connection.sendall(
            b"POST /v1/nothing HTTP/1.1\r\nHost: x\r\nContent-Length: 1000000\r\n\r\n{"
        )
        assert connection.recv(65536).startswith(b"HTTP/1.1 404 ")
