"""The view of a batch: JSON or a stream of lines, in its turn, to callers that read."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import BinaryIO, Final

import msgspec
from flask import Response, request

from drawmark.web.batch.answer_items import answer_items
from drawmark.web.batch.batch_constants import SAID_ONCE
from drawmark.web.batch.read_items import compile_reader, read_batch
from drawmark.web.batch.single_item import Tally
from drawmark.web.batch.slots import InTurn, Turns
from drawmark.web.batch.spool import spool_body
from drawmark.web.batch.stream import NDJSON, SENT_AT_ONCE, answer_stream
from drawmark.web.settings import Settings
from drawmark.web.wire.accept import JSON
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.problems import problem, respond
from drawmark.web.wire.request_body import read_body

PATIENCE: Final = 30.0
"""How long a caller may let the wire stand still, sending or reading [s]."""
_SOON: Final = "1"


def batch_view(item: Operation, settings: Settings) -> Callable[[], Response]:
    """Make the view of batches.

    Parameters
    ----------
    item : Operation
        The fit check of one item.
    settings : Settings
        Threads of a worker, and how long a stream may be.

    Returns
    -------
    callable
        The view.
    """
    compile_reader(item)
    turns = Turns(settings.threads)

    def view() -> Response:
        if not turns.take():
            detail = "Too many batches at once: ask again."
            return respond(problem(503, detail), [("Retry-After", _SOON)])
        try:
            _be_patient()
            if request.mimetype == NDJSON:
                return _stream(spool_body(settings.stream_limit), item, turns)
            body = check_batch(read_body(settings.body_limit, NDJSON), item)
        except BaseException:
            turns.give_back()
            raise
        pieces = (body[at : at + SENT_AT_ONCE] for at in range(0, len(body), SENT_AT_ONCE))
        response = Response(InTurn(pieces, turns.give_back), mimetype=JSON)
        response.content_length = len(body)
        return response

    return view


def _stream(file: BinaryIO, item: Operation, turns: Turns) -> Response:
    def end() -> None:
        file.close()
        turns.give_back()

    return Response(InTurn(answer_stream(file, item), end), mimetype=NDJSON)


def check_batch(body: bytes, item: Operation) -> bytes:
    """Answer a batch.

    Parameters
    ----------
    body : bytes
        `{"items": [...]}` with 1 to 10,000 fit checks.
    item : Operation
        The fit check of one item.

    Returns
    -------
    bytes
        JSON with a result or a problem for each item, in order, and what holds for all.

    Raises
    ------
    ProblemError
        If the body is no batch.
    """
    entries = answer_items(read_batch(body, item), item, Tally())
    said_once = msgspec.json.encode(SAID_ONCE)
    return b'{"items":[' + b",".join(entries) + b"]," + said_once[1:]


def _be_patient() -> None:
    """Bound how long this thread waits for the wire; the server sets it anew for each request."""
    wire = request.environ.get("gunicorn.socket")
    if wire is not None:
        with suppress(OSError):
            wire.settimeout(PATIENCE)
