"""Problems for what the server refuses by itself: the application never sees it."""

from __future__ import annotations

import re
from typing import Any, Final

import msgspec
from gunicorn import util

from drawmark.web.wire.problems import MEDIA_TYPE

_PROBLEMS: Final = {
    400: ("Bad Request", "This is not a valid HTTP request."),
    403: ("Forbidden", "This connection is not accepted."),
    414: ("URI Too Long", "The address is too long. No address here is longer than 100 bytes."),
    417: ("Expectation Failed", "Expect is only accepted with 100-continue."),
    431: ("Request Header Fields Too Large", "The header fields are too many or too large."),
    500: ("Internal Server Error", "The service failed. Nothing was checked."),
    501: ("Not Implemented", "This Transfer-Encoding is not accepted. Use chunked, or none."),
    505: ("HTTP Version Not Supported", "This HTTP version is not accepted. Use HTTP/1.1."),
}
_OTHER_VERSION: Final = re.compile(r"Invalid HTTP Version '.*\bHTTP/\d|Invalid HTTP Version .*\(\d")


def write_problem(connection: Any, status: int, reason: str, message: str) -> None:
    """Refuse what was sent; nothing of it is repeated."""
    if _OTHER_VERSION.match(message):
        status = 505
    title, detail = _PROBLEMS.get(status, (reason, "The server refused this request."))
    body = msgspec.json.encode(
        {"type": "about:blank", "title": title, "status": status, "detail": detail}
    )
    head = (
        f"HTTP/1.1 {status} {title}\r\nConnection: close\r\nContent-Type: {MEDIA_TYPE}\r\n"
        f"Cache-Control: no-store\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    util.write_nonblock(connection, head.encode() + body)


def use_problems(server: Any = util) -> None:
    """Make gunicorn answer with problems where it answers itself; it has no setting for that."""
    server.write_error = write_problem
