"""What a reply puts on the wire, and in how many pieces."""

from types import SimpleNamespace
from typing import Any

import pytest
from gunicorn.config import Config
from gunicorn.http import wsgi

from drawmark.web.server.atomic_response import AtomicResponse, use_atomic_responses


class Wire:
    """A socket that keeps what each write sent."""

    def __init__(self) -> None:
        self.sent: list[bytes] = []

    def sendall(self, part: bytes) -> None:
        self.sent.append(part)

    def send(self, part: memoryview) -> int:
        self.sent.append(bytes(part))
        return len(part)


def answer(kind: type[wsgi.Response], parts: list[bytes], fields: list[tuple[str, str]]) -> Wire:
    wire = Wire()
    request = SimpleNamespace(method="POST", version=(1, 1), should_close=lambda: False)
    reply: Any = kind(request, wire, Config())
    reply.start_response("200 OK", fields)
    for part in parts:
        reply.write(part)
    reply.close()
    return wire


def without_date(sent: list[bytes]) -> list[bytes]:
    lines = b"".join(sent).split(b"\r\n")
    return [line for line in lines if not line.startswith(b"Date: ")]


CASES: dict[str, tuple[list[bytes], list[tuple[str, str]], int]] = {
    "a body of known length": ([b"whole"], [("Content-Length", "5")], 1),
    "two parts": ([b"who", b"le"], [("Content-Length", "5")], 2),
    "lines as they come, and their end": ([b"1\n", b"2\n"], [], 3),
    "no body": ([], [("Content-Length", "0")], 1),
    "more than was announced": ([b"whole!"], [("Content-Length", "5")], 1),
}


@pytest.mark.parametrize(("parts", "fields", "writes"), CASES.values(), ids=CASES)
def test_the_same_bytes_in_fewer_writes(
    parts: list[bytes], fields: list[tuple[str, str]], writes: int
) -> None:
    ours = answer(AtomicResponse, parts, fields)
    plain = answer(wsgi.Response, parts, fields)
    assert without_date(ours.sent) == without_date(plain.sent)
    assert len(ours.sent) == writes
    assert len(plain.sent) == writes + bool(parts)


def test_gunicorn_is_told_to_use_it() -> None:
    http = SimpleNamespace(Response=wsgi.Response)
    use_atomic_responses(http)
    assert http.Response is AtomicResponse
