"""The view of a batch: JSON or a stream of lines."""

from __future__ import annotations

from collections.abc import Callable
from typing import BinaryIO

import msgspec
from flask import Response, request
from werkzeug.wsgi import ClosingIterator

from drawmark.web.batch.answer_items import answer_items
from drawmark.web.batch.definition import COMMON, NDJSON
from drawmark.web.batch.read_items import batch_decoder, read_batch
from drawmark.web.batch.single_item import Progress
from drawmark.web.batch.spool import spool_body
from drawmark.web.batch.stream import answer_stream
from drawmark.web.settings import Settings
from drawmark.web.wire.accept import JSON
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.request_body import read_body


def batch_view(item: Operation, settings: Settings) -> Callable[[], Response]:
    """Make the view of batches."""
    batch_decoder(item.struct)  # made before any thread needs it

    def view() -> Response:
        if request.mimetype == NDJSON:
            return _stream(spool_body(settings.stream_limit), item)
        body = check_batch(read_body(settings.body_limit, NDJSON), item)
        return Response(body, mimetype=JSON)

    return view


def _stream(file: BinaryIO, item: Operation) -> Response:
    return Response(ClosingIterator(answer_stream(file, item), file.close), mimetype=NDJSON)


def check_batch(body: bytes, item: Operation) -> bytes:
    """Answer `{"items": [...]}`; ProblemError if the body is no batch."""
    entries = answer_items(read_batch(body, item), item, Progress())
    common = msgspec.json.encode(COMMON)
    return b'{"items":[' + b",".join(entries) + b"]," + common[1:]
