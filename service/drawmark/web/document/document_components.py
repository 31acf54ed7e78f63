"""What the document says once for all operations: headers, and problems that any may answer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from drawmark.web.document.examples.problems import MISFIT
from drawmark.web.wire.problems import MEDIA_TYPE

_STATED_ID: Final = "^[A-Za-z0-9._-]{1,64}$"

PARAMETERS: Final[dict[str, dict[str, Any]]] = {
    "RequestID": {
        "name": "X-Request-ID",
        "description": (
            "Name of the request, to find it in the log. It has 1 to 64 letters, digits, `.`, "
            "`_` or `-`. Any other is ignored."
        ),
        "schema": {"type": "string"},
    },
    "TraceParent": {
        "name": "traceparent",
        "description": (
            "Trace that the request is part of (Trace Context). Its trace ID then names the "
            "request."
        ),
        "schema": {"type": "string"},
    },
}
"""Headers that every request may have; one that is malformed is no problem."""

HEADERS: Final[dict[str, dict[str, Any]]] = {
    "RequestID": {
        "description": "Name of the request in the log: the one you sent, or a new one.",
        "required": True,
        "schema": {"type": "string", "pattern": _STATED_ID},
    },
    "RetryAfter": {
        "description": "Seconds to wait before asking again.",
        "required": True,
        "schema": {"type": "integer", "minimum": 1},
    },
    "Challenge": {
        "description": (
            "`Bearer`: a token is needed. It names an error if the token that was sent is unknown."
        ),
        "required": True,
        "schema": {"type": "string"},
    },
}
NAMED: Final = {"X-Request-ID": "RequestID"}
"""Headers of every answer."""
DEPRECATION: Final[dict[str, dict[str, Any]]] = {
    "Deprecation": {
        "description": "Since when a member of the request is deprecated, if one is (RFC 9745).",
        "schema": {"type": "string"},
    },
    "Sunset": {
        "description": "Until when that member is sure to be accepted, if known (RFC 8594).",
        "schema": {"type": "string"},
    },
    "Link": {
        "description": "The text of this operation, once for each such member, whose `title` says "
        "what to use instead.",
        "schema": {"type": "string"},
    },
}
"""Headers of an operation that takes members which are on their way out."""
_LATER: Final = {**NAMED, "Retry-After": "RetryAfter"}


def problem_of(text: str, headers: Mapping[str, str] = NAMED, **shown: Any) -> dict[str, Any]:
    """Describe a problem: its words, its headers and perhaps an example."""
    schema = {"$ref": "#/components/schemas/Problem"}
    return {
        "description": text,
        "headers": dict(headers),
        "content": {MEDIA_TYPE: {"schema": schema, **shown}},
    }


PROBLEMS: Final[dict[str, dict[str, Any]]] = {
    "Problem": problem_of("Any other problem."),
    "NotJson": problem_of("The body is not JSON, or was cut off."),
    "TooLarge": problem_of("The body is too large."),
    "WrongType": problem_of("The body is not application/json, or has a content coding."),
    "Misfit": problem_of(
        "Fields are missing, unknown, out of range, or contradict each other.", example=MISFIT
    ),
    "NoToken": problem_of(
        "A token is needed, if the service asks for tokens.",
        {**NAMED, "WWW-Authenticate": "Challenge"},
    ),
    "TooMany": problem_of(
        "One caller sent too many requests, or too many at once, if that is limited.", _LATER
    ),
    "NoRoom": problem_of(
        "Too many calculations run at once, this one takes too long, or the configuration for "
        "this token has faults.",
        _LATER,
    ),
}
REFUSALS: Final = {"401": "NoToken", "429": "TooMany"}
"""Problems of callers who are refused, by status."""
FAULTS: Final = {"400": "NotJson", "413": "TooLarge", "415": "WrongType", "422": "Misfit"}
"""Statuses to the problems of a body."""
