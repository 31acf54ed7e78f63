"""Streams over real connections: cut off, sent before anything is read, never read at all."""

from __future__ import annotations

import json
import socket
import sys
import time
from contextlib import suppress
from urllib.parse import urlsplit

import pytest
import requests

from drawmark.web.batch.definition import NDJSON
from drawmark.web.document.examples import EXAMPLES
from servers import Process, free_port, running

LINE = json.dumps(EXAMPLES["fit-check"]).encode() + b"\n"
HEAD = (
    b"POST /v1/fit-check/batch HTTP/1.1\r\nHost: x\r\nConnection: close\r\n"
    b"Content-Type: application/x-ndjson\r\n"
)
CHUNKED = b"Transfer-Encoding: chunked\r\n\r\n"
CHUNK = b"%x\r\n%s\r\n" % (len(LINE), LINE)
PATIENCE = 1.5
# One worker with sixteen threads, that soon gives up a wire that stands still.
SERVER = f"""
import sys
from functools import partial
from drawmark.web import create_app
from drawmark.web.server import gunicorn_server
from drawmark.web.server.stalled_callers import use_patience
from drawmark.web.server.gunicorn_server import serve
gunicorn_server.use_patience = partial(use_patience, seconds={PATIENCE})
from drawmark.web.settings import Settings
settings = Settings(workers=1, threads=16, log_requests=False)
serve("127.0.0.1", int(sys.argv[1]), settings, create_app)
"""


@pytest.fixture(scope="module")
def impatient(tmp_path_factory):
    """A service of one worker, stopped by its own process id."""
    port, log = free_port(), tmp_path_factory.mktemp("impatient") / "log"
    with running(Process([sys.executable, "-c", SERVER, str(port)], port, log)) as served:
        yield served.url


def connect(url):
    parts = urlsplit(url)
    return socket.create_connection((parts.hostname, parts.port), timeout=30)


def everything_from(connection):
    received = b""
    with suppress(ConnectionError):
        while block := connection.recv(65536):
            received += block
    return received


def talk(url, data, more=True):
    with connect(url) as connection:
        connection.sendall(data)
        if not more:
            connection.shutdown(socket.SHUT_WR)
        return everything_from(connection)


@pytest.mark.parametrize(
    ("rest", "status"),
    [
        pytest.param(CHUNKED + CHUNK * 2 + b"0\r\n\r\n", 200, id="chunks"),
        pytest.param(CHUNKED + CHUNK * 2, 400, id="chunks without an end"),
        pytest.param(CHUNKED + CHUNK[:-9], 400, id="truncated chunk"),
        pytest.param(CHUNKED + CHUNK + b"zz\r\n", 400, id="malformed chunk size"),
        pytest.param(b"Content-Length: 9999\r\n\r\n" + LINE, 400, id="truncated body"),
        pytest.param(b"Content-Length: 999999999999\r\n\r\n" + LINE, 413, id="too long"),
    ],
)
def test_body_on_the_wire(live, rest, status):
    # Who has sent a whole request keeps the connection: a caller that ends it counts as gone.
    received = talk(live, HEAD + rest, more=status == 200)
    head, _, body = received.partition(b"\r\n\r\n")
    assert head.split(b" ")[1] == str(status).encode()
    if status == 200:
        assert b'{"items":2,"problems":0,"not_told":[' in body
    else:
        assert b"application/problem+json" in head


def test_all_may_be_sent_before_anything_is_read(live):
    count = 20_000
    response = requests.post(
        live + "/v1/fit-check/batch",
        data=LINE * count,
        headers={"Content-Type": NDJSON},
        timeout=120,
    )
    *lines, last = response.iter_lines()
    assert json.loads(last).items() >= {"items": count, "problems": 0}.items()
    assert len(lines) == count
    assert json.loads(lines[-1])["index"] == count - 1


def single(url):
    started = time.monotonic()
    response = requests.post(url + "/v1/fit-check", json=EXAMPLES["fit-check"], timeout=10)
    return response.status_code, time.monotonic() - started


@pytest.mark.long
def test_batches_that_stand_still_leave_threads_to_others(impatient):
    idle = [connect(impatient) for _ in range(2)]
    try:
        for connection in idle:
            connection.sendall(HEAD + b"Content-Length: 9999\r\n\r\n" + LINE)
        time.sleep(0.5)
        kind = {"Content-Type": NDJSON}
        third = requests.post(
            impatient + "/v1/fit-check/batch", data=LINE, headers=kind, timeout=10
        )
        assert third.status_code == 200
        assert single(impatient)[0] == 200
        # Those who stand still lose their turns.
        for connection in idle:
            assert everything_from(connection).startswith(b"HTTP/1.1 400 ")
    finally:
        for connection in idle:
            connection.close()
    batch = {"items": [EXAMPLES["fit-check"]]}
    assert requests.post(impatient + "/v1/fit-check/batch", json=batch, timeout=10).ok


@pytest.mark.long
def test_a_caller_that_never_reads_loses_its_turn_and_sees_no_last_line(impatient):
    body = LINE * 40_000
    deaf = []
    try:
        for _ in range(2):
            connection = connect(impatient)
            # Room for a small part of the answer, and enough to read the rest of it soon.
            connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1 << 16)
            deaf.append(connection)
            connection.sendall(HEAD + b"Content-Length: %d\r\n\r\n" % len(body) + body)
        assert single(impatient)[0] == 200
        # Others calculate meanwhile.
        batch = {"items": [EXAMPLES["fit-check"]]}
        assert requests.post(impatient + "/v1/fit-check/batch", json=batch, timeout=10).ok
        time.sleep(3 * PATIENCE)
        assert not all(b'"problems":' in everything_from(connection) for connection in deaf)
    finally:
        for connection in deaf:
            connection.close()
