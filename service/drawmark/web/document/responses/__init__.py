"""Schemas of the answers, for the document; tests hold every answer against them."""

from __future__ import annotations

from typing import Any, Final

from drawmark.web.document.responses import checks, cutting, kit
from drawmark.web.document.responses.meanings import components, described

__all__ = ["COMPONENTS", "NAMES"]
NAMES: Final[dict[str, str]] = {**checks.NAMES, **cutting.NAMES, **kit.NAMES}
COMPONENTS: Final[dict[str, dict[str, Any]]] = {
    name: {**described(schema, name), "description": components.COMPONENTS[name]}
    for subject in (checks, cutting, kit)
    for name, schema in subject.COMPONENTS.items()
}
