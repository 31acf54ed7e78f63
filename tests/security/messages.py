"""Messages of which a proxy and a service may disagree where they end and the next begins."""

from __future__ import annotations

import json
import re
import socket
from contextlib import suppress
from itertools import count

from drawmark.web.document.examples import EXAMPLES

FIT = json.dumps(EXAMPLES["fit-check"]).encode()
HOST = b"Host: c\r\n"
POST = b"POST /v1/fit-check HTTP/1.1\r\n" + HOST + b"Content-Type: application/json\r\n"
CHUNKED = b"Transfer-Encoding: chunked\r\n"
LENGTH = b"Content-Length: %d\r\n"
HIDDEN = b"GET /v1/units HTTP/1.1\r\n" + HOST + b"X-Request-ID: hidden-NN\r\n\r\n"
"""A request that stands where a body is, if the message is read in one of two ways."""
LAST = b"GET /healthz HTTP/1.1\r\n" + HOST + b"X-Request-ID: last-NN\r\nConnection: close\r\n\r\n"
_numbers = count(1)


def length(body: bytes) -> bytes:
    return LENGTH % len(body)


def chunk(body: bytes, extension: bytes = b"") -> bytes:
    return b"%x%s\r\n%s\r\n" % (len(body), extension, body)


END = b"0\r\n\r\n"


def whole(head: bytes, body: bytes = b"") -> bytes:
    return POST + head + b"\r\n" + body


def odd(head: bytes, start: bytes = POST) -> bytes:
    """A head with an empty chunked body, and a hidden request if its length counts."""
    body = END + HIDDEN
    return start + head.replace(b"LENGTH", b"%d" % len(body)) + b"\r\n" + body


AMBIGUOUS = {
    "two lengths": odd(b"Content-Length: 5\r\nContent-Length: LENGTH\r\n"),
    "two lengths, turned": odd(b"Content-Length: LENGTH\r\nContent-Length: 5\r\n"),
    "two lengths in one": odd(b"Content-Length: 5, LENGTH\r\n"),
    "the same length twice": odd(b"Content-Length: LENGTH\r\nContent-Length: LENGTH\r\n"),
    "length and chunks": odd(b"Content-Length: LENGTH\r\n" + CHUNKED),
    "chunks and length": odd(CHUNKED + b"Content-Length: LENGTH\r\n"),
    "length and identity": odd(b"Content-Length: 5\r\nTransfer-Encoding: identity\r\n"),
    "a length with a sign": odd(b"Content-Length: +5\r\n"),
    "a negative length": odd(b"Content-Length: -5\r\n"),
    "a length in hex": odd(b"Content-Length: 0x5\r\n"),
    "a length with an underscore": odd(b"Content-Length: 1_0\r\n"),
    "a length with a blank inside": odd(b"Content-Length: 5 5\r\n"),
    "an empty length": odd(b"Content-Length:\r\n"),
    "a length in other digits": odd("Content-Length: ٥\r\n".encode()),
    "a blank before the colon": odd(b"Content-Length : LENGTH\r\n"),
    "a blank before the chunks' colon": odd(
        b"Transfer-Encoding : chunked\r\nContent-Length: 5\r\n"
    ),
    "a tab before the colon": odd(b"Transfer-Encoding\t: chunked\r\nContent-Length: 5\r\n"),
    "chunked twice": odd(b"Transfer-Encoding: chunked, chunked\r\n"),
    "chunked in two lines": odd(CHUNKED + CHUNKED),
    "chunked, then identity": odd(b"Transfer-Encoding: chunked, identity\r\n"),
    "chunked in quotes": odd(b'Transfer-Encoding: "chunked"\r\n'),
    "chunked with a letter more": odd(b"Transfer-Encoding: xchunked\r\nContent-Length: 5\r\n"),
    "chunked with a vertical tab": odd(b"Transfer-Encoding: \x0bchunked\r\nContent-Length: 5\r\n"),
    "chunked with a control sign": odd(b"Transfer-Encoding: chunked\x01\r\n"),
    "a name with an underscore": odd(b"Transfer_Encoding: chunked\r\nContent-Length: LENGTH\r\n"),
    "a line that is folded": odd(b"X: y\r\n Transfer-Encoding: chunked\r\n"),
    "chunked on a folded line": odd(b"Transfer-Encoding:\r\n chunked\r\nContent-Length: 5\r\n"),
    "a line feed alone": odd(b"X: y\nTransfer-Encoding: chunked\r\nContent-Length: 5\r\n"),
    "a carriage return alone": odd(b"X: y\rTransfer-Encoding: chunked\r\nContent-Length: 5\r\n"),
    "a null": odd(b"X: y\x00\r\nContent-Length: 5\r\n"),
    "a header without a name": odd(b": x\r\nContent-Length: 5\r\n"),
    "a blank before the first header": odd(
        b"Content-Length: 5\r\n",
        b"POST /v1/fit-check HTTP/1.1\r\n X: y\r\nHost: c\r\nContent-Type: application/json\r\n",
    ),
    "two hosts": odd(b"Host: d\r\nContent-Length: 5\r\n"),
    "chunks in HTTP/1.0": odd(CHUNKED, POST.replace(b"1.1", b"1.0")),
    "a version with more digits": odd(CHUNKED, POST.replace(b"1.1", b"1.10")),
    "a version with a sign": odd(CHUNKED, POST.replace(b"1.1", b"1.+1")),
    "two blanks in the first line": odd(CHUNKED, POST.replace(b" HTTP", b"  HTTP")),
    "a method in small letters": odd(CHUNKED, POST.replace(b"POST", b"post")),
    "a chunk size with a sign": whole(CHUNKED, b"+5\r\n" + HIDDEN),
    "a chunk size with an x": whole(CHUNKED, b"0x0\r\n\r\n" + HIDDEN),
    "a chunk size with an underscore": whole(CHUNKED, b"0_0\r\n\r\n" + HIDDEN),
    "a chunk size with a blank": whole(CHUNKED, b" 0\r\n\r\n" + HIDDEN),
    "an empty chunk size": whole(CHUNKED, b"\r\n\r\n" + HIDDEN),
    "a chunk size beyond 64 bits": whole(CHUNKED, b"10000000000000000\r\n\r\n" + HIDDEN),
    "a line feed after a chunk size": whole(CHUNKED, b"2\n{}\r\n0\r\n\r\n" + HIDDEN),
    "a line feed in a chunk's extension": whole(CHUNKED, b"2;\n{}\r\n0\r\n\r\n" + HIDDEN),
    "a carriage return in an extension": whole(CHUNKED, b"2;a\rb\r\n{}\r\n0\r\n\r\n" + HIDDEN),
    "a chunk that is too long": whole(CHUNKED, b"2\r\n{}xx0\r\n\r\n" + HIDDEN),
    "a line feed after a chunk": whole(CHUNKED, b"2\r\n{}\n0\r\n\r\n" + HIDDEN),
    "a line feed at the end of the chunks": whole(CHUNKED, chunk(FIT) + b"0\n\n" + HIDDEN),
    "a length in the trailers": whole(
        CHUNKED, chunk(FIT) + b"0\r\nContent-Length: 5\r\n\r\n" + HIDDEN
    ),
    "a coding in the trailers": whole(
        CHUNKED, chunk(FIT) + b"0\r\nTransfer-Encoding: chunked\r\n\r\n" + HIDDEN
    ),
    "trailers with a line feed alone": whole(CHUNKED, chunk(FIT) + b"0\r\nX: y\n\n" + HIDDEN),
}
"""A hidden request that is read as a request would be one too many."""

CLEAR = {
    "one after another": (whole(length(FIT), FIT) + HIDDEN, [200, 200, 200]),
    "chunks": (whole(CHUNKED, chunk(FIT) + END) + HIDDEN, [200, 200, 200]),
    "chunks with extensions": (
        whole(CHUNKED, chunk(FIT, b';a=b;c="d e"') + b"0;x\r\n\r\n") + HIDDEN,
        [200, 200, 200],
    ),
    "trailers": (whole(CHUNKED, chunk(FIT) + b"0\r\nX: y\r\n\r\n") + HIDDEN, [200, 200, 200]),
    "a hidden request in a refused body": (whole(length(HIDDEN), HIDDEN), [400, 200]),
    "a hidden request in a chunk of a refused body": (
        whole(CHUNKED, chunk(HIDDEN) + END),
        [400, 200],
    ),
    "a body where none is asked for": (
        b"GET /v1/units HTTP/1.1\r\n" + HOST + length(HIDDEN) + b"\r\n" + HIDDEN,
        [200, 200],
    ),
    "chunks where none are asked for": (
        b"GET /v1/units HTTP/1.1\r\n" + HOST + CHUNKED + b"\r\n" + chunk(HIDDEN) + END,
        [200, 200],
    ),
    "a hidden request in a body at no path": (
        b"POST /nothing HTTP/1.1\r\n" + HOST + length(HIDDEN) + b"\r\n" + HIDDEN,
        [404, 200],
    ),
}
"""Messages that can be read in one way only, and the statuses of their answers and of the last."""


def numbered(message: bytes) -> tuple[str, bytes]:
    """Give the requests of a message ids of their own, and end it with one that is in order."""
    number = f"{next(_numbers):02x}"
    return number, (message + LAST).replace(b"-NN", b"-" + number.encode())


def talk(port: int, message: bytes, ends: bool = False) -> bytes:
    """Send a message, and read until the connection ends; `ends` tells that no more will come."""
    with socket.create_connection(("127.0.0.1", port), timeout=20) as caller:
        # Where it is refused in the middle, the rest may not be taken.
        with suppress(ConnectionError):
            caller.sendall(message)
            if ends:
                caller.shutdown(socket.SHUT_WR)
        received = b""
        with suppress(ConnectionError):
            while block := caller.recv(65536):
                received += block
    return received


def statuses_of(received: bytes) -> list[int]:
    """The statuses of all answers; no body here holds such a line."""
    return [int(status) for status in re.findall(rb"HTTP/1\.[01] (\d{3}) ", received)]
