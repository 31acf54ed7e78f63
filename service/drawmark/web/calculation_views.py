"""The views of the calculations: a body in, an answer out in the type that the caller asks for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec
from flask import Blueprint, Response, request
from werkzeug.utils import get_content_type

from drawmark.web.batch.definition import BATCH_PATH, batch_item
from drawmark.web.batch.view import batch_view
from drawmark.web.metrics import metrics_of_process
from drawmark.web.settings import Settings
from drawmark.web.wire.accept import DRAWN, FORMATS, JSON, Writer, choose_type
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.operations import operations_of
from drawmark.web.wire.request_body import read_body


def blueprint(rules: Rules, settings: Settings) -> Blueprint:
    """Register every operation."""
    blue = Blueprint("calculations", __name__, url_prefix="/v1")
    encode = msgspec.json.Encoder().encode
    views = {
        one.path: _view(
            one,
            min(one.body_limit, settings.body_limit),
            {JSON: encode, **FORMATS.get(one.path, {})},
        )
        for one in operations_of(rules)
    }
    views[BATCH_PATH] = batch_view(batch_item(rules), settings)
    for path, view in views.items():
        blue.add_url_rule(f"/{path}", path, view, methods=["POST"], provide_automatic_options=False)
    return blue


def _view(operation: Operation, most: int, writers: dict[str, Writer]) -> Callable[[], Response]:
    drawn = DRAWN.get(operation.path, ())
    offered = (*(one for one in writers if one != JSON), *drawn)
    content_types = {one: get_content_type(one, "utf-8") for one in (JSON, *offered)}

    def view() -> Response:
        body = read_body(most)
        chosen = choose_type(request.headers.get("Accept", ""), offered) if offered else JSON
        if chosen in drawn:
            return _drawn(operation, body, chosen, content_types[chosen])
        answer = _counted(operation.calculate(body))
        return Response(writers[chosen](answer), content_type=content_types[chosen])

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
