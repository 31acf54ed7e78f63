"""A caller can hide no request in another one: what is ambiguous is refused, and its rest not read.

`tests/docker/test_smuggling.py` sends the same messages through nginx.
"""

from __future__ import annotations

import pytest

from security.messages import (
    AMBIGUOUS,
    CHUNKED,
    CLEAR,
    END,
    HIDDEN,
    HOST,
    chunk,
    length,
    numbered,
    statuses_of,
    talk,
    whole,
)


@pytest.mark.parametrize("message", AMBIGUOUS.values(), ids=AMBIGUOUS)
def test_no_hidden_request_is_answered(service, message):
    number, message = numbered(message)
    statuses = statuses_of(talk(service.port, message, ends=True))
    assert f"hidden-{number}" not in service.written()
    assert statuses[0] in (400, 501, 505)
    # What follows is read only where the end was clear.
    assert statuses[1:] in ([], [200])


@pytest.mark.parametrize(("message", "expected"), CLEAR.values(), ids=CLEAR)
def test_what_is_clear_is_answered_in_order(service, message, expected):
    number, message = numbered(message)
    assert statuses_of(talk(service.port, message, ends=True)) == expected
    log = service.written()
    assert (f"hidden-{number}" in log) is (len(expected) == 3)
    assert f"last-{number}" in log


def test_a_body_that_is_too_large_to_be_taken_hides_nothing(service):
    """What is left of it is read away, or the connection ends: it is never read as a request."""
    start = len(service.written())
    body = HIDDEN * (1 + (200 << 10) // len(HIDDEN))
    for message in (whole(length(body), body), whole(CHUNKED, chunk(body) + END)):
        _, message = numbered(message)
        statuses = statuses_of(talk(service.port, message, ends=True))
        assert statuses[0] == 413
        assert statuses[1:] in ([], [200])
    assert "hidden" not in service.written()[start:]


TARGETS = {
    "absolute form": (b"GET http://other.example/healthz HTTP/1.1", 200),
    "absolute form, with another host's port": (b"GET http://127.0.0.1:9/healthz HTTP/1.1", 200),
    "absolute form of nothing": (b"GET http:// HTTP/1.1", 308),
    "authority form": (b"CONNECT other.example:443 HTTP/1.1", 404),
    "authority form of another method": (b"GET other.example:443 HTTP/1.1", 400),
    "all of it": (b"OPTIONS * HTTP/1.1", 404),
    "no slash": (b"GET healthz HTTP/1.1", 400),
    "a fragment": (b"GET /healthz#x HTTP/1.1", 200),
    "HTTP/1.0": (b"GET /healthz HTTP/1.0", 200),
    "HTTP/0.9": (b"GET /healthz", 400),
    "HTTP/2": (b"GET /healthz HTTP/2.0", 505),
}


@pytest.mark.parametrize(("line", "status"), TARGETS.values(), ids=TARGETS)
def test_odd_targets_and_versions_get_one_answer_from_here(service, line, status):
    message = line + b"\r\n" + HOST + b"Connection: close\r\n\r\n"
    assert statuses_of(talk(service.port, message, ends=True)) == [status]


def test_callers_set_neither_path_nor_scheme_by_headers(service):
    """Gunicorn takes them from callers on the same machine, if it is not told otherwise."""
    for name in (b"SCRIPT_NAME: /v1", b"SCRIPT_NAME: /other", b"PATH_INFO: /healthz"):
        message = b"GET /v1/units HTTP/1.1\r\n" + HOST + name + b"\r\nConnection: close\r\n\r\n"
        assert statuses_of(talk(service.port, message)) == [200], name
    schemes = b"X-Forwarded-Proto: https\r\nX-Forwarded-SSL: off\r\n"
    message = b"GET /v1/units HTTP/1.1\r\n" + HOST + schemes + b"Connection: close\r\n\r\n"
    assert statuses_of(talk(service.port, message)) == [200]
