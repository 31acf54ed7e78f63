"""The view of a batch: JSON or a stream of lines."""

from __future__ import annotations

from collections.abc import Callable
from itertools import islice
from typing import BinaryIO

import msgspec
from flask import Response, request
from werkzeug.wsgi import ClosingIterator

from drawmark.web.batch.answer_items import answer_items
from drawmark.web.batch.definition import COMMON, NDJSON
from drawmark.web.batch.read_items import read_batch
from drawmark.web.batch.single_item import Progress
from drawmark.web.batch.spool import spool_body
from drawmark.web.batch.stream import answer_stream, lines_of
from drawmark.web.settings import Settings
from drawmark.web.wire.accept import JSON
from drawmark.web.wire.callers import caller_of_request
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.problems import ProblemError
from drawmark.web.wire.request_body import read_body


def batch_view(chosen: Callable[[], Operation], settings: Settings) -> Callable[[], Response]:
    """Make the view of batches; the operation of their items is chosen for each request."""

    def view() -> Response:
        item, most = chosen(), caller_of_request().token.items
        if request.mimetype == NDJSON:
            return _stream(spool_body(settings.stream_limit), item, most)
        body = read_body(settings.body_limit, NDJSON)
        deprecated = item.deprecated.under("items") if item.deprecated else None
        headers = deprecated.headers_for((body,)) if deprecated else ()
        return Response(check_batch(body, item, most), mimetype=JSON, headers=headers)

    return view


def _stream(file: BinaryIO, item: Operation, most: int) -> Response:
    headers: list[tuple[str, str]] = []
    try:
        if most:
            _verify_count(sum(1 for _ in islice(lines_of(file), most + 1)), most)
            file.seek(0)
        if item.deprecated:
            # They are sent before the first item is answered.
            headers = item.deprecated.headers_for(filter(None, lines_of(file)))
            file.seek(0)
    except BaseException:
        file.close()
        raise
    answered = ClosingIterator(answer_stream(file, item), file.close)
    return Response(answered, mimetype=NDJSON, headers=headers)


def check_batch(body: bytes, item: Operation, most: int = 0) -> bytes:
    """Answer `{"items": [...]}`; ProblemError if the body is no batch.

    `most` is the limit of the caller's token, 0 where it has none.
    """
    items = read_batch(body, item)
    if most:
        _verify_count(len(items.structs), most)
    entries = answer_items(items, item, Progress())
    # All are joined in one step: each copy of so many bytes takes time and memory.
    entries[0] = b'{"items":[' + entries[0]
    entries[-1] += b"]," + msgspec.json.encode(COMMON)[1:]
    return b",".join(entries)


def _verify_count(count: int, most: int) -> None:
    if count > most:
        raise ProblemError(422, f"This token may send at most {most} items at once.")
