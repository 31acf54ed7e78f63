"""Health, readiness and the service's own document, for machines and as a page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec
from flask import Blueprint, Response

from drawmark import __version__
from drawmark.web.installed import Rules
from drawmark.web.listings import LISTINGS
from drawmark.web.openapi import document_of, encode_document
from drawmark.web.pages import POLICY, page_of
from drawmark.web.problems import problem, respond


def readiness(rules: Rules, revision: str) -> tuple[bool, dict[str, Any]]:
    """Tell whether every required plugin is active, and the state of each."""
    missing = rules.configuration.missing
    state = {
        "status": "not_ready" if missing else "ready",
        "version": __version__,
        "revision": revision,
        "plugins": [
            {"plugin": one.name, "version": one.version, "status": one.status}
            for one in rules.registry.plugins
        ],
        "missing": [{"plugin": one.name, "reason": one.reason} for one in missing],
    }
    return not missing, state


def blueprint(rules: Rules, revision: str) -> Blueprint:
    """Register health, readiness and document."""
    blue = Blueprint("ops", __name__)
    described = document_of(rules)
    document, page = encode_document(described), page_of(described)
    alive = msgspec.json.encode({"status": "alive", "version": __version__})
    ready, state = readiness(rules, revision)

    def health() -> Response:
        return Response(alive, mimetype="application/json")

    def readyz() -> Response:
        if ready:
            return Response(msgspec.json.encode(state), mimetype="application/json")
        names = ", ".join(one["plugin"] for one in state["missing"])
        return respond({**problem(503, f"Required and not active: {names}."), **{"state": state}})

    def openapi() -> Response:
        return Response(document, mimetype="application/json")

    def docs() -> Response:
        return Response(page, mimetype="text/html", headers={"Content-Security-Policy": POLICY})

    views: dict[str, Callable[[], Response]] = {
        "healthz": health,
        "readyz": readyz,
        "openapi.json": openapi,
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
