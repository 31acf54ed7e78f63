"""Problem documents (RFC 9457)."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from heapq import nsmallest
from typing import Any, Final

import msgspec
from flask import Response
from werkzeug.exceptions import HTTPException

MEDIA_TYPE: Final = "application/problem+json"
MOST_ERRORS: Final = 50
UNKNOWN: Final = "is not a known field"
MISFIT: Final = "The request does not fit its schema."
SERVICE_FAILED: Final = "The service failed, and its log says why. Nothing was checked."
# The standard library's titles differ between Python versions.
TITLES: Final = {
    400: "Bad Request",
    401: "Unauthorized",
    403: "Forbidden",
    404: "Not Found",
    405: "Method Not Allowed",
    411: "Length Required",
    413: "Content Too Large",
    415: "Unsupported Media Type",
    421: "Misdirected Request",
    422: "Unprocessable Content",
    429: "Too Many Requests",
    500: "Internal Server Error",
    501: "Not Implemented",
    503: "Service Unavailable",
}
NOT_FOUND: Final = "There is nothing at this path. /docs lists the paths."
_DETAILS: Final = {
    404: NOT_FOUND,
    413: "The body is larger than this service accepts.",
}

ErrorList = list[dict[str, str]]


class ProblemError(Exception):
    """A request that cannot be answered; `errors` holds a pointer and a detail for each fault."""

    def __init__(
        self,
        status: int,
        detail: str,
        errors: Sequence[dict[str, str]] = (),
        headers: Sequence[tuple[str, str]] = (),
    ) -> None:
        super().__init__(detail)
        self.status = status
        self.detail = detail
        self.headers = headers
        self.errors = list(errors)[:MOST_ERRORS]

    def document(self) -> dict[str, Any]:
        """Give the problem document."""
        return problem(self.status, self.detail, self.errors)


def type_of(status: int) -> str:
    """Give the path of the page that explains problems of a status."""
    return f"/problems/{status}" if status in TITLES else "about:blank"


def problem(status: int, detail: str, errors: ErrorList | None = None) -> dict[str, Any]:
    """Make a problem document."""
    document: dict[str, Any] = {
        "type": type_of(status),
        "title": TITLES.get(status, "Error"),
        "status": status,
        "detail": detail,
    }
    if errors:
        document["errors"] = errors
    return document


def respond(document: Mapping[str, Any], headers: Iterable[tuple[str, str]] = ()) -> Response:
    """Turn a problem document into a response."""
    response = Response(
        msgspec.json.encode(document), status=int(document["status"]), mimetype=MEDIA_TYPE
    )
    for name, value in headers:
        response.headers[name] = value
    return response


def send_problem(
    environ: Mapping[str, Any],
    start_response: Any,
    document: Mapping[str, Any],
    headers: Iterable[tuple[str, str]] = (),
    fault: Any = None,
) -> list[bytes]:
    """Send a problem document from middleware; `fault` is WSGI's `exc_info`."""
    body = msgspec.json.encode(document)
    status = int(document["status"])
    fields = [("Content-Type", MEDIA_TYPE), ("Content-Length", str(len(body))), *headers]
    start_response(f"{status} {TITLES[status]}", fields, fault)
    return [] if environ["REQUEST_METHOD"] == "HEAD" else [body]


def answer_problem(error: ProblemError) -> Response:
    """Answer a ProblemError."""
    return respond(error.document(), error.headers)


def answer_http(error: HTTPException) -> Response:
    """Answer an error that the framework raised."""
    status = error.code or 500
    if status < 400:
        return Response(status=status, headers=error.get_headers())
    # The framework lists methods in the order of a set, which changes between runs.
    allow = [
        (name, ", ".join(sorted(value.split(", "))))
        for name, value in error.get_headers()
        if name == "Allow"
    ]
    detail = _DETAILS.get(status, "The request cannot be answered.")
    if allow:
        detail = f"This path does not take this method. Use {allow[0][1]}."
    return respond(problem(status, detail), allow)


def answer_fault(error: Exception) -> Response:
    """Answer an uncaught exception, without a traceback."""
    original = getattr(error, "original_exception", None)
    if isinstance(original, ProblemError):
        return answer_problem(original)
    return respond(problem(500, SERVICE_FAILED))


def pointers(messages: object, path: tuple[str | int, ...] = ()) -> ErrorList:
    """Turn marshmallow's tree of messages into a list of pointers and details."""
    if isinstance(messages, Mapping):
        return [
            error
            for key, below in sorted(messages.items(), key=_unknown_last)
            for error in pointers(below, path if _is_of_object(key, below) else (*path, key))
        ]
    if isinstance(messages, list | tuple):
        return [error for message in messages for error in pointers(message, path)]
    return [{"pointer": pointer(path), "detail": str(messages)}]


def most_told(members: Mapping[str, Any], known: Container[str]) -> list[str]:
    """Give the unknown members of an object that are worth telling, in order."""
    return nsmallest(MOST_ERRORS, (name for name in members if name not in known))


def _unknown_last(item: tuple[object, object]) -> str:
    """Sort unknown members last and by name; marshmallow lists them in the order of a set."""
    key, below = item
    return f"{key}" if below == [UNKNOWN] else ""


def _is_of_object(key: object, below: object) -> bool:
    """Tell whether a message is about the object itself, and not about a member called _schema."""
    return key == "_schema" and below != [UNKNOWN]


def pointer(path: Iterable[str | int]) -> str:
    """Write a JSON pointer (RFC 6901) as a URI fragment."""
    return "#" + "".join(
        "/" + str(step).replace("~", "~0").replace("/", "~1")[:100] for step in path
    )
