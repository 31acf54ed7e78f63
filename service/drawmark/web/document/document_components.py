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
        "description": "Name of the request, to find it in the log: 1 to 64 letters, digits, `.`, "
        "`_` or `-`; anything else is passed over.",
        "schema": {"type": "string"},
    },
    "TraceParent": {
        "name": "traceparent",
        "description": "Trace that the request is part of (Trace Context): the "
        "trace's id is then the request's.",
        "schema": {"type": "string"},
    },
}
"""Headers that every request may have; one that is malformed is no problem."""

HEADERS: Final[dict[str, dict[str, Any]]] = {
    "RequestID": {
        "description": "Name of the request in the log: as it was stated, or a new one.",
        "required": True,
        "schema": {"type": "string", "pattern": _STATED_ID},
    },
    "RetryAfter": {
        "description": "Seconds after which to ask again.",
        "required": True,
        "schema": {"type": "integer", "minimum": 1},
    },
    "Challenge": {
        "description": "What is asked for: `Bearer`, a token; with an error where the one that "
        "was given is not known.",
        "required": True,
        "schema": {"type": "string"},
    },
}
NAMED: Final = {"X-Request-ID": "RequestID"}
"""Headers of every answer."""
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
    "NotJson": problem_of("The body is not JSON or was cut off."),
    "TooLarge": problem_of("The body is too large."),
    "WrongType": problem_of("The body is not application/json, or comes in a content coding."),
    "Misfit": problem_of(
        "Fields are missing, unknown, out of range or cannot stand together.", example=MISFIT
    ),
    "NoToken": problem_of(
        "A token is needed, where the service asks for tokens.",
        {**NAMED, "WWW-Authenticate": "Challenge"},
    ),
    "TooMany": problem_of("Too many requests of one caller, where their rate is limited.", _LATER),
    "NoRoom": problem_of("Too many calculations at once, where they are limited.", _LATER),
}
REFUSALS: Final = {"401": "NoToken", "429": "TooMany"}
"""Statuses to the problems of whoever is not let in."""
FAULTS: Final = {"400": "NotJson", "413": "TooLarge", "415": "WrongType", "422": "Misfit"}
"""Statuses to the problems of a body."""
