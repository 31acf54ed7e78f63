"""Views about the service itself: health, readiness, metrics, and its document."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any, Final

import msgspec
from flask import Blueprint, Response, current_app, request

from drawmark import __version__
from drawmark.web.batch.shared_operations import SharedOperations
from drawmark.web.document.listings import LISTINGS
from drawmark.web.document.openapi import document_of, encode_document
from drawmark.web.document.pages import POLICY, page_of
from drawmark.web.document.problem_pages import PAGES, problem_page
from drawmark.web.metrics import MEDIA_TYPE, Metrics
from drawmark.web.wire.accept import JSON
from drawmark.web.wire.callers import Callers, caller_of_request, rules_of_request
from drawmark.web.wire.catalogue import MOST_KEPT, state_of
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.problems import ProblemError, problem, respond

CONFIGURATION: Final = "CONFIGURATION"
"""Key in the application's configuration for the state of the club's: current or stale."""
CURRENT: Final = "current"
STALE: Final = "stale"
"""The last reload failed; what was in force before still is."""

_NOT_YOURS: Final = (
    "This token may not see figures of the whole service. Use the token of whoever maintains it."
)
_NO_CLUB_READY: Final = "No club's configuration can be used. The log says why."


def blueprint(
    callers: Callers, operations: SharedOperations, revision: str, metrics: Metrics
) -> Blueprint:
    """Register health, readiness, metrics and document."""
    blue = Blueprint("service", __name__)
    alive = msgspec.json.encode({"status": "alive", "version": __version__})

    # Few ask for the document or its page, and both take longer than the rest of a start.
    @lru_cache(maxsize=MOST_KEPT)
    def document(rules: Rules) -> bytes:
        return encode_document(document_of(rules, operations))

    @lru_cache(maxsize=MOST_KEPT)
    def page(rules: Rules) -> str:
        return page_of(document_of(rules, operations))

    def healthz() -> Response:
        return Response(alive, mimetype=JSON)

    def readyz() -> Response:
        state = _readiness(callers, revision, current_app.config[CONFIGURATION])
        if state["status"] != "not_ready":
            return Response(msgspec.json.encode(state), mimetype=JSON)
        missing = ", ".join(one["plugin"] for one in state["missing"])
        detail = (
            _NO_CLUB_READY
            if callers.clubs is not None
            else f"Required plugins are not active: {missing or 'see the log'}. "
            "Install them, or stop requiring them."
        )
        return respond({**problem(503, detail), "state": state})

    def metrics_text() -> Response:
        if not caller_of_request().sees_all:
            raise ProblemError(403, _NOT_YOURS)
        return Response(metrics.render(), content_type=MEDIA_TYPE)

    def openapi() -> Response:
        return Response(document(rules_of_request()), mimetype=JSON)

    def docs() -> Response:
        return _page(page(rules_of_request()))

    def problem_type() -> Response:
        return _page(problem_page(PAGES[request.path]))

    views: dict[str, Callable[[], Response]] = {
        "healthz": healthz,
        "readyz": readyz,
        "metrics": metrics_text,
        "openapi": openapi,
        "docs": docs,
    }
    for name, view in views.items():
        blue.add_url_rule(
            LISTINGS[name].path, name, view, methods=["GET"], provide_automatic_options=False
        )
    for path in PAGES:
        blue.add_url_rule(
            path, path[1:], problem_type, methods=["GET"], provide_automatic_options=False
        )
    return blue


def _page(text: str) -> Response:
    return Response(text, mimetype="text/html", headers={"Content-Security-Policy": POLICY})


def _readiness(callers: Callers, revision: str, configuration: str) -> dict[str, Any]:
    installed, clubs = callers.installed, callers.clubs
    plugins = [state_of(plugin) for plugin in installed.registry.plugins]
    impaired = any(one["status"] == "failed" or one["rules_off"] for one in plugins)
    missing = installed.configuration.missing
    not_ready = bool(missing)
    if clubs is not None:
        # One club's fault must not take the service from the others.
        not_ready = not clubs.configurations.keys() - clubs.waiting
        impaired = impaired or bool(clubs.faults or clubs.waiting or callers.faults)
    shown = not callers.are_apart
    state: dict[str, Any] = {
        "status": "not_ready" if not_ready else "degraded" if impaired else "ready",
        "version": __version__,
        "revision": revision,
        "configuration": configuration,
        "plugins": plugins if shown else [],
        "missing": [{"plugin": one.name, "reason": one.reason} for one in missing if shown],
    }
    if clubs is not None:
        state["clubs"] = {**clubs.counts, "faulty_tokens": len(callers.faults)}
    return state
