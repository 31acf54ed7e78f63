"""Bodies that grow when they are unpacked, or never end, cost no more than their limit."""

from __future__ import annotations

import gzip
import os
import socket
import stat
import time
import zlib
from contextlib import suppress

import pytest

from drawmark.web import create_app
from drawmark.web.batch.spool import IN_MEMORY, spool_body
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.installed_rules import core_rules
from security.messages import CHUNKED, POST

BOMB = b"\0" * (64 << 20)
CODINGS = {
    "gzip": gzip.compress(BOMB, 1),
    "x-gzip": gzip.compress(BOMB, 1),
    "deflate": zlib.compress(BOMB, 1),
    "br": b"\x0b\x80",
    "zstd": b"\x28\xb5\x2f\xfd",
    "gzip, gzip": gzip.compress(gzip.compress(BOMB, 1)),
}
BATCH = "fit-check/batch"
TYPES = [("fit-check", "application/json"), (BATCH, "application/json")]
TYPES += [(BATCH, "application/x-ndjson")]


@pytest.fixture(scope="module")
def app():
    return create_app(rules=core_rules())


@pytest.mark.parametrize("coding", CODINGS)
@pytest.mark.parametrize(("path", "kind"), TYPES)
def test_a_compressed_body_is_not_even_read(app, path, kind, coding):
    class Unread:
        def read(self, *_):
            raise AssertionError("it was read")

    answer = app.test_client().post(
        f"/v1/{path}",
        data=CODINGS[coding],
        content_type=kind,
        headers={"Content-Encoding": coding},
        environ_overrides={"wsgi.input": Unread()},
    )
    assert answer.status_code == 415
    assert "uncompressed" in answer.get_json()["detail"]


@pytest.mark.parametrize("path", ["fit-check", "nothing"])
def test_a_body_without_an_end_is_cut_off(service, path):
    """At most the largest body of all is read away, for callers that send before they read."""
    block = b"100000\r\n" + b" " * (1 << 20) + b"\r\n"
    head = POST.replace(b"fit-check", path.encode()) + CHUNKED + b"\r\n"
    sent, begun = 0, time.monotonic()
    with socket.create_connection(("127.0.0.1", service.port), timeout=20) as caller:
        caller.sendall(head)
        with suppress(ConnectionError):
            while time.monotonic() < begun + 15 and sent < 40:
                caller.sendall(block)
                sent += 1
    assert sent < 40


@pytest.mark.parametrize(
    "kind",
    [
        "text/plain",
        "text/plain;application/json",
        "text/plain; charset=application/json",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=application/json",
        "",
        "application/json-seq",
        "text/json",
    ],
)
@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_no_page_can_send_what_is_read_without_being_asked_first(app, path, kind):
    """A browser sends the first three types across origins without asking (Fetch, section 2.2.2,
    from memory)."""
    answer = app.test_client().post(f"/v1/{path}", data=b"{}", content_type=kind)
    assert answer.status_code == 415


def test_what_waits_in_a_file_is_open_to_nobody_else(app):
    body = b" " * (IN_MEMORY + 1)
    before = os.umask(0)
    try:
        with app.test_request_context("/", method="POST", data=body):
            file = spool_body(2 * len(body))
    finally:
        os.umask(before)
    with file:
        state = os.fstat(file.fileno())
        assert state.st_size == len(body)
        assert stat.S_IMODE(state.st_mode) == 0o600
        # It has no name, so it ends with the process.
        assert state.st_nlink == 0
