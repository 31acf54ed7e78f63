"""Problem documents (RFC 9457) for everything that goes wrong."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

import msgspec
from flask import Response
from werkzeug.exceptions import HTTPException, InternalServerError

MEDIA_TYPE: Final = "application/problem+json"
MOST_ERRORS: Final = 50
UNKNOWN: Final = "unknown field"
# Titles of our own: those of the standard library differ between Python versions.
TITLES: Final = {
    400: "Bad Request",
    401: "Unauthorized",
    404: "Not Found",
    405: "Method Not Allowed",
    411: "Length Required",
    413: "Content Too Large",
    415: "Unsupported Media Type",
    422: "Unprocessable Content",
    429: "Too Many Requests",
    500: "Internal Server Error",
    503: "Service Unavailable",
}

ErrorList = list[dict[str, str]]


class ProblemError(Exception):
    """A request that cannot be answered.

    Parameters
    ----------
    status : int
        HTTP status.
    detail : str
        What is wrong, in one sentence.
    errors : list of dict
        A pointer and a detail for each faulty field.
    headers : list of pairs
        Headers that go with it.
    """

    def __init__(
        self,
        status: int,
        detail: str,
        errors: Sequence[dict[str, str]] = (),
        headers: Sequence[tuple[str, str]] = (),
    ) -> None:
        super().__init__(detail)
        self.status = status
        self.headers = headers
        self.detail = detail
        self.errors = list(errors)[:MOST_ERRORS]

    def document(self) -> dict[str, Any]:
        """Give the problem document."""
        return problem(self.status, self.detail, self.errors)


def problem(status: int, detail: str, errors: ErrorList | None = None) -> dict[str, Any]:
    """Make a problem document."""
    document: dict[str, Any] = {
        "type": "about:blank",
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
    """Send a problem document where the framework is not at hand; `fault` as WSGI has it."""
    body = msgspec.json.encode(document)
    status = int(document["status"])
    fields = [("Content-Type", MEDIA_TYPE), ("Content-Length", str(len(body))), *headers]
    start_response(f"{status} {TITLES[status]}", fields, fault)
    return [] if environ["REQUEST_METHOD"] == "HEAD" else [body]


def answer_problem(error: ProblemError) -> Response:
    """Answer a problem of our own."""
    return respond(error.document(), error.headers)


def answer_http(error: HTTPException) -> Response:
    """Answer an error of the framework."""
    status = error.code or 500
    if status < 400:
        return Response(status=status, headers=error.get_headers())
    details = {
        404: "There is nothing at this path.",
        405: "This path does not take this method.",
        413: "The body is larger than this service takes.",
    }
    # The framework tells methods in the order of a set, which no run repeats.
    allow = [
        (name, ", ".join(sorted(value.split(", "))))
        for name, value in error.get_headers()
        if name == "Allow"
    ]
    detail = details.get(status, "The request cannot be answered.")
    if allow:
        detail = f"{detail[:-1]}; it takes {allow[0][1]}."
    return respond(problem(status, detail), allow)


def answer_fault(error: Exception) -> Response:
    """Answer a fault of the service itself, without a traceback."""
    original = getattr(error, "original_exception", None)
    if isinstance(original, ProblemError):
        return answer_problem(original)
    return respond(problem(InternalServerError.code, "The service failed; the fault is logged."))


def pointers(messages: object, path: tuple[str | int, ...] = ()) -> ErrorList:
    """Turn a tree of messages into a list of pointers and details."""
    if isinstance(messages, Mapping):
        return [
            error
            for key, below in sorted(messages.items(), key=_unknown_last)
            for error in pointers(below, path if _is_whole(key, below) else (*path, key))
        ]
    if isinstance(messages, list | tuple):
        return [error for message in messages for error in pointers(message, path)]
    return [{"pointer": pointer(path), "detail": str(messages)}]


def _unknown_last(item: tuple[object, object]) -> str:
    """Order unknown members by name, after the others: marshmallow tells them as a set does."""
    key, below = item
    return f"{key}" if below == [UNKNOWN] else ""


def _is_whole(key: object, below: object) -> bool:
    """Tell whether a message is about the object; a member may have the name for that."""
    return key == "_schema" and below != [UNKNOWN]


def pointer(path: Iterable[str | int]) -> str:
    """Write a JSON pointer (RFC 6901) as a URI fragment."""
    return "#" + "".join(
        "/" + str(step).replace("~", "~0").replace("/", "~1")[:100] for step in path
    )
