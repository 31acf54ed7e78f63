"""Paths of the document: what each takes, what it answers, what can go wrong."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from drawmark.web.batch.definition import (
    BATCH_PATH,
    FULL_LIMIT,
    LONGEST_LINE,
    MOST_ITEMS,
    NDJSON,
)
from drawmark.web.document.answer_schemas import Schema, answer_of, ref, schema_of
from drawmark.web.document.document_components import (
    DEPRECATION,
    FAULTS,
    NAMED,
    PARAMETERS,
    REFUSALS,
    problem_of,
)
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.document.examples.answers import LINES
from drawmark.web.document.examples.readings import EXAMPLES as READINGS
from drawmark.web.document.listings import Listing
from drawmark.web.settings import OPEN_PATHS, Settings
from drawmark.web.wire.accept import DRAWN, FORMATS, JSON
from drawmark.web.wire.operation import Operation

_BATCH_REQUEST: Final = "BatchRequest"
OTHER_TYPES: Final = "x-content"
"""Types of a body that generators of clients do not know: they would warn of them."""
_BATCH: Final = (
    f"{FULL_LIMIT} Each item gets a result or a problem, in order. Of many problems only the first "
    f"are worded in full. Any number of items can be sent in lines ({NDJSON}). The service reads "
    "all of them before it answers."
)
_LINES: Final = {
    "schema": {
        "type": "string",
        "description": f"One item a line, of at most {LONGEST_LINE} bytes. A longer line is "
        "answered with a problem.",
    },
    "example": LINES,
}
_ANSWERED_LINES: Final = {
    "schema": {
        "type": "string",
        "description": (
            "Members of `items` of the JSON answer, one a line and in order. The last line is an "
            "object that counts the items in `items` and their problems in `problems`, and gives "
            "what holds for all items. If it is missing, the answer was cut off."
        ),
    }
}
_TEXT: Final = {"schema": {"type": "string"}}


def post_of(
    operation: Operation, answers: Mapping[str, Any], components: dict[str, Schema]
) -> dict[str, Any]:
    """Describe a calculation; that of the batch by the operation of its items."""
    path = operation.path
    batch = path == BATCH_PATH
    most = Settings().body_limit if batch else operation.body_limit
    body = operation.name
    if batch:
        body = _BATCH_REQUEST
        components[body] = _batch_of(operation.name)
    offered: dict[str, Any] = {
        JSON: {"schema": schema_of(answer_of(operation), components)},
        **dict.fromkeys((*FORMATS.get(path, ()), *DRAWN.get(path, ())), _TEXT),
        **({NDJSON: _ANSWERED_LINES} if batch else {}),
    }
    return {
        "operationId": operation.anchor,
        "summary": operation.summary,
        **({"description": _BATCH} if batch else {}),
        "parameters": list(PARAMETERS),
        "requestBody": {
            "description": (
                f"At most {most} bytes{' as JSON' if batch else ''}, unless the service is set to "
                "take less. A longer body is answered with 413."
            ),
            "required": True,
            "content": {JSON: {"schema": ref(body), "example": EXAMPLES[path]}},
            **({OTHER_TYPES: {NDJSON: _LINES}} if batch else {}),
        },
        "responses": {
            "200": {
                "description": "The answer.",
                "headers": {**NAMED, **(DEPRECATION if operation.deprecated else {})},
                "content": {
                    kind: {**shown, "example": answers[kind]} if kind in answers else shown
                    for kind, shown in offered.items()
                },
            },
            **FAULTS,
            **REFUSALS,
            "503": "NoRoom",
            "default": "Problem",
        },
    }


def _batch_of(item: str) -> Schema:
    """Describe the body of a batch."""
    items = {
        "type": "array",
        "description": "Fit checks, each with an `id` of its own where it needs one.",
        "minItems": 1,
        "maxItems": MOST_ITEMS,
        "items": ref(item),
    }
    return {
        "type": "object",
        "description": "Fit checks to be made in one request.",
        "required": ["items"],
        "additionalProperties": False,
        "properties": {"items": items},
    }


def get_of(name: str, listing: Listing, components: dict[str, Schema]) -> dict[str, Any]:
    """Describe something that is only read; its objects go to the components."""
    shown = {"schema": schema_of(listing.declared, components), "example": READINGS[name]}
    answers: dict[str, Any] = {
        "200": {
            "description": listing.summary,
            "headers": dict(NAMED),
            "content": {listing.media_type: shown},
        },
        "default": "Problem",
    }
    operation = {
        "operationId": f"get-{name}",
        "summary": listing.summary,
        "parameters": list(PARAMETERS),
        "responses": answers,
    }
    if listing.unavailable:
        answers["503"] = problem_of(listing.unavailable)
    if listing.path in OPEN_PATHS:
        return {**operation, "security": []}
    answers.update(REFUSALS)
    return operation
