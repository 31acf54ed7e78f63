"""Views about the service itself: health, readiness, metrics, and its document."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any, Final

import msgspec
from flask import Blueprint, Response, current_app, request

from drawmark import __version__
from drawmark.web.document.listings import LISTINGS
from drawmark.web.document.openapi import document_of, encode_document
from drawmark.web.document.pages import POLICY, page_of
from drawmark.web.document.problem_pages import PAGES, problem_page
from drawmark.web.metrics import MEDIA_TYPE, Metrics
from drawmark.web.wire.accept import JSON
from drawmark.web.wire.catalogue import state_of
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.problems import problem, respond

CONFIGURATION: Final = "CONFIGURATION"
"""Key in the application's configuration for the state of the club's: current or stale."""
CURRENT: Final = "current"
STALE: Final = "stale"
"""The last reload failed; what was in force before still is."""


def blueprint(rules: Rules, revision: str, metrics: Metrics) -> Blueprint:
    """Register health, readiness, metrics and document."""
    blue = Blueprint("service", __name__)
    described = document_of(rules)
    document = encode_document(described)
    # Writing the page takes longer than the rest of a start, and few ask for it.
    page = cache(lambda: page_of(described))
    alive = msgspec.json.encode({"status": "alive", "version": __version__})

    def healthz() -> Response:
        return Response(alive, mimetype=JSON)

    def readyz() -> Response:
        state = _readiness(rules, revision, current_app.config[CONFIGURATION])
        missing = ", ".join(one["plugin"] for one in state["missing"])
        if not missing:
            return Response(msgspec.json.encode(state), mimetype=JSON)
        detail = (
            f"Required plugins are not active: {missing}. Install them, or stop requiring them."
        )
        return respond({**problem(503, detail), "state": state})

    def metrics_text() -> Response:
        return Response(metrics.render(), content_type=MEDIA_TYPE)

    def openapi() -> Response:
        return Response(document, mimetype=JSON)

    def docs() -> Response:
        return _page(page())

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


def _readiness(rules: Rules, revision: str, configuration: str) -> dict[str, Any]:
    missing = rules.configuration.missing
    plugins = [state_of(plugin) for plugin in rules.registry.plugins]
    impaired = any(one["status"] == "failed" or one["rules_off"] for one in plugins)
    return {
        "status": "not_ready" if missing else "degraded" if impaired else "ready",
        "version": __version__,
        "revision": revision,
        "configuration": configuration,
        "plugins": plugins,
        "missing": [{"plugin": one.name, "reason": one.reason} for one in missing],
    }
