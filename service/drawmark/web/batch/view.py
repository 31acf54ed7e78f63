"""The view of a batch: JSON or a stream of lines, answered in a slot."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import BinaryIO, Final

import msgspec
from flask import Response, request

from drawmark.web.batch.answer_items import answer_items
from drawmark.web.batch.definition import COMMON, NDJSON
from drawmark.web.batch.read_items import batch_decoder, read_batch
from drawmark.web.batch.single_item import Progress
from drawmark.web.batch.slots import ReleasingIterator, Slots
from drawmark.web.batch.spool import spool_body
from drawmark.web.batch.stream import SENT_AT_ONCE, answer_stream
from drawmark.web.settings import Settings
from drawmark.web.wire.accept import JSON
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.problems import problem, respond
from drawmark.web.wire.request_body import read_body

PATIENCE: Final = 30.0
"""How long a caller may neither send nor read [s]."""
_SOON: Final = "1"


def batch_view(item: Operation, settings: Settings) -> Callable[[], Response]:
    """Make the view of batches."""
    batch_decoder(item.struct)  # made before any thread needs it
    slots = Slots(settings.threads)

    def view() -> Response:
        if not slots.acquire():
            detail = "Too many batches at once. Try again in a second."
            return respond(problem(503, detail), [("Retry-After", _SOON)])
        try:
            _be_patient()
            if request.mimetype == NDJSON:
                return _stream(spool_body(settings.stream_limit), item, slots)
            body = check_batch(read_body(settings.body_limit, NDJSON), item)
        except BaseException:
            slots.release()
            raise
        pieces = (body[at : at + SENT_AT_ONCE] for at in range(0, len(body), SENT_AT_ONCE))
        response = Response(ReleasingIterator(pieces, slots.release), mimetype=JSON)
        response.content_length = len(body)
        return response

    return view


def _stream(file: BinaryIO, item: Operation, slots: Slots) -> Response:
    def end() -> None:
        file.close()
        slots.release()

    return Response(ReleasingIterator(answer_stream(file, item), end), mimetype=NDJSON)


def check_batch(body: bytes, item: Operation) -> bytes:
    """Answer `{"items": [...]}`; ProblemError if the body is no batch."""
    entries = answer_items(read_batch(body, item), item, Progress())
    common = msgspec.json.encode(COMMON)
    return b'{"items":[' + b",".join(entries) + b"]," + common[1:]


def _be_patient() -> None:
    """Limit how long this thread waits for the wire; the server sets it again for each request."""
    wire = request.environ.get("gunicorn.socket")
    if wire is not None:
        with suppress(OSError):
            wire.settimeout(PATIENCE)
