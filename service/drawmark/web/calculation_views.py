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
from drawmark.web.wire.accept import FORMATS, JSON, Writer, choose_type
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.operations import operations_of
from drawmark.web.wire.request_body import read_body


def blueprint(rules: Rules, settings: Settings) -> Blueprint:
    """Register every operation."""
    blue = Blueprint("calculations", __name__, url_prefix="/v1")
    encode = msgspec.json.Encoder().encode
    views = {
        one.path: _view(
            one.calculate,
            min(one.body_limit, settings.body_limit),
            {JSON: encode, **FORMATS.get(one.path, {})},
        )
        for one in operations_of(rules)
    }
    views[BATCH_PATH] = batch_view(batch_item(rules), settings)
    for path, view in views.items():
        blue.add_url_rule(f"/{path}", path, view, methods=["POST"], provide_automatic_options=False)
    return blue


def _view(
    calculate: Callable[[bytes], dict[str, Any]], most: int, writers: dict[str, Writer]
) -> Callable[[], Response]:
    offered = [media_type for media_type in writers if media_type != JSON]
    content_types = {media_type: get_content_type(media_type, "utf-8") for media_type in writers}

    def view() -> Response:
        answer = calculate(read_body(most))
        verdict = answer.get("verdict")
        if verdict is not None:
            metrics_of_process().count_verdicts({verdict: 1})
        chosen = choose_type(request.accept_mimetypes, offered) if offered else JSON
        return Response(writers[chosen](answer), content_type=content_types[chosen])

    return view
