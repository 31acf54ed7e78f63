"""What is only read: catalogues, health, document."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, TypedDict

from drawmark.web.wire.accept import JSON
from drawmark.web.wire.catalogue_entries import (
    Health,
    PluginList,
    Readiness,
    RuleList,
    RuleSetList,
    SourceList,
    UnitList,
)


class Document(TypedDict):
    """An OpenAPI document."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Listing:
    """Something that is only read.

    Parameters
    ----------
    path : str
        Its path.
    summary : str
        What it is, one sentence.
    declared : Any
        Type of it.
    media_type : str
        Its media type.
    unavailable : str
        When it answers 503; empty if never.
    """

    path: str
    summary: str
    declared: Any
    media_type: str = JSON
    unavailable: str = ""


LISTINGS: Final[dict[str, Listing]] = {
    "rules": Listing(
        path="/v1/rules",
        summary="Rules of the active plugins, including the core's.",
        declared=RuleList,
    ),
    "plugins": Listing(
        path="/v1/plugins",
        summary="Installed plugins, including those that failed to load.",
        declared=PluginList,
    ),
    "rulesets": Listing(
        path="/v1/rulesets",
        summary="Rule sets, with the settings of their plugins.",
        declared=RuleSetList,
    ),
    "units": Listing(
        path="/v1/units",
        summary="Units, their factors to SI, and the range of each field in each unit.",
        declared=UnitList,
    ),
    "sources": Listing(
        path="/v1/sources",
        summary="Sources of constants: published, or marked as having none.",
        declared=SourceList,
    ),
    "healthz": Listing(path="/healthz", summary="The process is alive.", declared=Health),
    "readyz": Listing(
        path="/readyz",
        summary="Every required plugin is active.",
        declared=Readiness,
        unavailable="A required plugin is not active.",
    ),
    "metrics": Listing(
        path="/metrics",
        summary="Requests, verdicts and rules counted, for Prometheus.",
        declared=str,
        media_type="text/plain",
    ),
    "openapi": Listing(path="/openapi.json", summary="This document.", declared=Document),
    "docs": Listing(
        path="/docs",
        summary="This document as a page.",
        declared=str,
        media_type="text/html",
    ),
}
