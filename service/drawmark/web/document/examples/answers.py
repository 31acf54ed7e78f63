"""What the core answers to the examples: kept, since to compute it takes longer than to start."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

import msgspec
from flask.testing import FlaskClient

from drawmark.web.batch.definition import BATCH_PATH, NDJSON
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.accept import FORMATS, JSON

KEPT: Final = Path(__file__).with_name("answers.json")
LINES: Final = "".join(json.dumps(item) + "\n" for item in EXAMPLES[BATCH_PATH]["items"])
"""The example of a batch, an item a line."""

Answers = dict[str, dict[str, Any]]
"""Paths to media types to answers, those that are not JSON as texts."""


def read_answers() -> Answers:
    """Read the answers that are kept."""
    return msgspec.json.decode(KEPT.read_bytes(), type=Answers)


def keep_answers(client: FlaskClient) -> None:
    """Keep the answers that a service of the core gives."""
    KEPT.write_bytes(msgspec.json.format(msgspec.json.encode(ask_all(client)), indent=1) + b"\n")


def ask_all(client: FlaskClient) -> Answers:
    """Ask a service for everything that the examples ask for."""
    answers = {
        path: {
            wanted: _ask(client, path, msgspec.json.encode(body), JSON, wanted)
            for wanted in (JSON, *FORMATS.get(path, ()))
        }
        for path, body in EXAMPLES.items()
    }
    answers[BATCH_PATH][NDJSON] = _ask(client, BATCH_PATH, LINES.encode(), NDJSON, NDJSON)
    return answers


def _ask(client: FlaskClient, path: str, body: bytes, given: str, wanted: str) -> Any:
    reply = client.post(f"/v1/{path}", data=body, content_type=given, headers={"Accept": wanted})
    return reply.get_json() if wanted == JSON else reply.text
