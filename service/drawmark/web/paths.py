"""Paths of the document: what each takes, what it answers, what can go wrong."""

from __future__ import annotations

import json
from typing import Any, Final

from drawmark.web import listings, responses
from drawmark.web.accept import JSON
from drawmark.web.batch import BATCH_PATH, MOST_FULL, MOST_ITEMS, NDJSON
from drawmark.web.batch.lines import LONGEST_LINE
from drawmark.web.door import OPEN_PATHS
from drawmark.web.examples import EXAMPLES
from drawmark.web.examples.readings import EXAMPLES as READINGS
from drawmark.web.formats import FORMATS
from drawmark.web.needs import stated
from drawmark.web.operation import Operation
from drawmark.web.problems import MEDIA_TYPE
from drawmark.web.responses.meanings import CATALOGUES, described
from drawmark.web.together import together

_POST_PROBLEMS: Final = (
    (400, "The body is not JSON or was cut off."),
    (413, "The body is too large."),
    (415, "The body is not application/json, or comes in a content coding."),
    (422, "Fields are missing, unknown, out of range or cannot stand together."),
)
_REFUSALS: Final = (
    (401, "A token is needed, where the service asks for tokens."),
    (429, "Too many requests of one caller, where their rate is limited."),
)
_BATCH: Final = (
    f'At most {MOST_FULL} of the items may ask for detail "full". Each gets a result or a problem, '
    "in order; of many problems only the first are worded in full. The same is offered for any "
    f"number of items in lines ({NDJSON}): the whole request is taken before it is answered, so "
    "all may be sent before anything is read."
)
_LINES: Final = {
    "schema": {
        "type": "string",
        "description": f"An item a line, of at most {LONGEST_LINE} bytes; a longer one is passed "
        "over and answered with a problem.",
    },
    "example": "".join(json.dumps(item) + "\n" for item in EXAMPLES[BATCH_PATH]["items"]),
}
_ANSWERED_LINES: Final = {
    "schema": {
        "type": "string",
        "description": "Members of `items` of the other type, one a line and in order. The last "
        "line is an object that counts them, in `items`, and their problems, in `problems`, "
        "beside what holds for all: without it the answer was cut off.",
    }
}
_NO_ROOM: Final = (503, "Too many calculations at once, where they are limited.")


def post_of(operation: Operation) -> dict[str, Any]:
    """Describe a calculation; that of the batch by the operation of its items."""
    path = operation.path
    body: dict[str, Any] = {
        "allOf": [
            _ref(operation.name),
            *map(stated, operation.module.NEEDS),
            *together(operation.module.NEEDS, operation.uses_rules),
        ]
    }
    batch = path == BATCH_PATH
    if batch:
        items = {
            "type": "array",
            "description": "Fit checks, each with an `id` of its own where it needs one.",
            "minItems": 1,
            "maxItems": MOST_ITEMS,
            "items": body,
        }
        body = {
            "type": "object",
            "required": ["items"],
            "additionalProperties": False,
            "properties": {"items": items},
        }
    return {
        "operationId": path.replace("/", "-"),
        "summary": operation.summary,
        **({"description": _BATCH} if batch else {}),
        "requestBody": {
            "required": True,
            "content": {
                JSON: {"schema": body, "example": EXAMPLES[path]},
                **({NDJSON: _LINES} if batch else {}),
            },
        },
        "responses": {
            "200": {
                "description": "The answer.",
                "content": {
                    JSON: {"schema": _ref(responses.NAMES[path])},
                    **{other: {"schema": {"type": "string"}} for other in FORMATS.get(path, {})},
                    **({NDJSON: _ANSWERED_LINES} if batch else {}),
                },
            },
            **_problems(*_POST_PROBLEMS, *_REFUSALS, _NO_ROOM),
            "default": _problem("Any other problem."),
        },
    }


def get_of(name: str, listing: listings.Listing) -> dict[str, Any]:
    """Describe something that is only read."""
    shown = {"schema": described(listing.schema, name, CATALOGUES), "example": READINGS[name]}
    answers = {
        "200": {"description": listing.summary, "content": {listing.media_type: shown}},
        "default": _problem("Any problem."),
    }
    operation = {"operationId": f"get-{name}", "summary": listing.summary, "responses": answers}
    if listing.unavailable:
        answers.update(_problems((503, listing.unavailable)))
    if listing.path in OPEN_PATHS:
        return {**operation, "security": []}
    answers.update(_problems(*_REFUSALS))
    return operation


def _ref(name: str) -> dict[str, Any]:
    return {"$ref": f"#/components/schemas/{name}"}


def _problem(text: str) -> dict[str, Any]:
    content = {MEDIA_TYPE: {"schema": _ref("Problem")}}
    return {"description": text, "content": content}


def _problems(*worded: tuple[int, str]) -> dict[str, Any]:
    return {str(status): _problem(text) for status, text in worded}
