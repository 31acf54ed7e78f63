"""The views of the calculations: a body in, an answer out in the type that the caller asks for."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import msgspec
from flask import Blueprint, Response
from flask.globals import request_ctx
from werkzeug.utils import get_content_type

from drawmark.web.batch.definition import BATCH_PATH
from drawmark.web.batch.shared_operations import SharedOperations
from drawmark.web.batch.view import batch_view
from drawmark.web.metrics import metrics_of_process
from drawmark.web.settings import Settings
from drawmark.web.wire.accept import DRAWN, FORMATS, JSON, Writer, choose_type
from drawmark.web.wire.callers import rules_of_request
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.request_body import read_body


def blueprint(operations: SharedOperations, settings: Settings) -> Blueprint:
    """Register every operation."""
    blue = Blueprint("calculations", __name__, url_prefix="/v1")
    encode = msgspec.json.Encoder().encode
    for path in operations.paths:
        chosen = partial(_operation, operations, path)
        if path == BATCH_PATH:
            view = batch_view(chosen, settings)
        else:
            writers = {JSON: encode, **FORMATS.get(path, {})}
            view = _view(path, chosen, settings.body_limit, writers)
        blue.add_url_rule(f"/{path}", path, view, methods=["POST"], provide_automatic_options=False)
    return blue


def _operation(operations: SharedOperations, path: str) -> Operation:
    """Give the operation with the rule sets of whoever asks."""
    rules = rules_of_request()
    return operations.of(rules)[path].for_rules(rules)


def _view(
    path: str, chosen: Callable[[], Operation], most: int, writers: dict[str, Writer]
) -> Callable[[], Response]:
    drawn = DRAWN.get(path, ())
    offered = (*(one for one in writers if one != JSON), *drawn)
    content_types = {one: get_content_type(one, "utf-8") for one in (JSON, *offered)}

    def view() -> Response:
        operation = chosen()
        body = read_body(min(operation.body_limit, most))
        wanted = JSON
        if offered:
            # The environment itself: the framework's view of its headers costs 3 us.
            wanted = choose_type(request_ctx.request.environ.get("HTTP_ACCEPT", ""), offered)
        if wanted in drawn:
            response = _drawn(operation, body, wanted, content_types[wanted])
        else:
            answer = _counted(operation.calculate(body))
            response = Response(writers[wanted](answer), content_type=content_types[wanted])
        if operation.deprecated:
            response.headers.extend(operation.deprecated.headers_for((body,)))
        return response

    return view


def _drawn(operation: Operation, body: bytes, chosen: str, content_type: str) -> Response:
    # A worker that never draws does not pay for what drawing takes.
    from drawmark.web.drawings.pictures import PICTURES

    picture = PICTURES[operation.path][chosen]
    tree = operation.calculate(body, picture.answer)
    _counted(tree.get("answer", tree))
    headers = {"Content-Security-Policy": picture.policy}
    return Response(picture.write(tree), content_type=content_type, headers=headers)


def _counted(answer: dict[str, Any]) -> dict[str, Any]:
    verdict = answer.get("verdict")
    if verdict is not None:
        metrics_of_process().count_verdicts({verdict: 1})
    return answer
