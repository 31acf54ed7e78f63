"""Health, readiness, metrics, and the service's own document, for machines and as a page."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any, Final

import msgspec
from flask import Blueprint, Response, current_app

from drawmark import __version__
from drawmark.web.document.listings import LISTINGS
from drawmark.web.document.openapi import document_of, encode_document
from drawmark.web.document.pages import POLICY, page_of
from drawmark.web.metrics import MEDIA_TYPE, Metrics
from drawmark.web.wire.accept import JSON
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.problems import problem, respond

CONFIGURATION: Final = "CONFIGURATION"
"""Where an application's own configuration says which of these the club's is."""
CURRENT: Final = "current"
STALE: Final = "stale"
"""What was read last could not be used; what was read before is still in force."""


def readiness(rules: Rules, revision: str, configuration: str) -> tuple[bool, dict[str, Any]]:
    """Tell whether every required plugin is active, and the state of each."""
    missing = rules.configuration.missing
    state = {
        "status": "not_ready" if missing else "ready",
        "version": __version__,
        "revision": revision,
        "configuration": configuration,
        "plugins": [
            {"plugin": one.name, "version": one.version, "status": one.status}
            for one in rules.registry.plugins
        ],
        "missing": [{"plugin": one.name, "reason": one.reason} for one in missing],
    }
    return not missing, state


def blueprint(rules: Rules, revision: str, metrics: Metrics) -> Blueprint:
    """Register health, readiness, metrics and document."""
    blue = Blueprint("ops", __name__)
    described = document_of(rules)
    document = encode_document(described)
    # Few ask for the page, and it takes longer to write than all else that a start needs.
    page = cache(lambda: page_of(described))
    alive = msgspec.json.encode({"status": "alive", "version": __version__})

    def health() -> Response:
        return Response(alive, mimetype=JSON)

    def readyz() -> Response:
        ready, state = readiness(rules, revision, current_app.config[CONFIGURATION])
        if ready:
            return Response(msgspec.json.encode(state), mimetype=JSON)
        names = ", ".join(one["plugin"] for one in state["missing"])
        return respond({**problem(503, f"Required and not active: {names}."), **{"state": state}})

    def counted() -> Response:
        return Response(metrics.write(), content_type=MEDIA_TYPE)

    def openapi() -> Response:
        return Response(document, mimetype=JSON)

    def docs() -> Response:
        return Response(page(), mimetype="text/html", headers={"Content-Security-Policy": POLICY})

    views: dict[str, Callable[[], Response]] = {
        "healthz": health,
        "readyz": readyz,
        "metrics": counted,
        "openapi": openapi,
        "docs": docs,
    }
    for name, view in views.items():
        blue.add_url_rule(
            LISTINGS[name].path,
            view.__name__,
            view,
            methods=["GET"],
            provide_automatic_options=False,
        )
    return blue
