"""Schemas of what is only read: catalogues, health, document."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final

from drawmark.web.document.responses.shapes import (
    FLAG,
    NUMBER,
    TEXT,
    TEXTS,
    WHOLE,
    choice_of,
    list_of,
    object_of,
)
from drawmark.web.wire.accept import JSON

_PLUGIN: Final = object_of(
    {"plugin": TEXT, "version": TEXT, "status": choice_of("active", "failed")}
)
_MISSING: Final = list_of(object_of({"plugin": TEXT, "reason": TEXT}))
READINESS: Final = object_of(
    {
        "status": choice_of("ready", "not_ready"),
        "version": TEXT,
        "revision": TEXT,
        "configuration": choice_of("current", "stale"),
        "plugins": list_of(_PLUGIN),
        "missing": _MISSING,
    }
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Listing:
    """Something that is only read.

    Parameters
    ----------
    path : str
        Its path.
    summary : str
        What it is, one sentence.
    schema : dict
        JSON schema of it.
    media_type : str
        Its media type.
    unavailable : str
        When it answers 503; empty if never.
    """

    path: str
    summary: str
    schema: dict[str, Any] = field(default_factory=lambda: {"type": "object"})
    media_type: str = JSON
    unavailable: str = ""


def _catalogue(name: str, summary: str, item: dict[str, Any]) -> Listing:
    return Listing(path=f"/v1/{name}", summary=summary, schema=object_of({name: list_of(item)}))


LISTINGS: Final[dict[str, Listing]] = {
    "rules": _catalogue(
        "rules",
        "Rules of the active plugins, the core's among them.",
        object_of(
            {
                "plugin": TEXT,
                "rule": TEXT,
                "title": TEXT,
                "needs": TEXTS,
                "gives": TEXTS,
                "source": TEXT,
            }
        ),
    ),
    "plugins": _catalogue(
        "plugins",
        "Installed plugins, those that failed to load too.",
        object_of({**_PLUGIN["properties"], "error": TEXT, "rules": TEXTS}),
    ),
    "rulesets": _catalogue(
        "rulesets",
        "Rule sets, with the settings of their plugins.",
        object_of(
            {
                "ruleset": TEXT,
                "title": TEXT,
                "default": FLAG,
                "plugins": list_of(
                    object_of(
                        {
                            "plugin": TEXT,
                            "version": TEXT,
                            "settings": {"type": "object", "additionalProperties": TEXT},
                        }
                    )
                ),
                "missing": _MISSING,
            }
        ),
    ),
    "units": _catalogue(
        "units",
        "Units, their factors to SI, and the range of each field in each unit.",
        object_of(
            {
                "unit": TEXT,
                "name": TEXT,
                "dimension": TEXT,
                "si_factor": NUMBER,
                "reciprocal": FLAG,
                "decimals": WHOLE,
                "fields": list_of(object_of({"field": TEXT, "least": NUMBER, "greatest": NUMBER})),
            }
        ),
    ),
    "sources": _catalogue(
        "sources",
        "Sources of constants: published, or marked as having none.",
        object_of({"source": TEXT, "mark": TEXT, "text": TEXT}),
    ),
    "healthz": Listing(
        path="/healthz",
        summary="The process is alive.",
        schema=object_of({"status": TEXT, "version": TEXT}),
    ),
    "readyz": Listing(
        path="/readyz",
        summary="Every required plugin is active.",
        schema=READINESS,
        unavailable="A required plugin is not active.",
    ),
    "metrics": Listing(
        path="/metrics",
        summary="Requests, verdicts and rules counted, for Prometheus.",
        schema={"type": "string"},
        media_type="text/plain",
    ),
    "openapi": Listing(path="/openapi.json", summary="This document."),
    "docs": Listing(
        path="/docs",
        summary="This document as a page.",
        schema={"type": "string"},
        media_type="text/html",
    ),
}
