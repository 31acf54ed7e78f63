"""Types that operations offer beside JSON."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from drawmark.web.wire.accept import CSV
from drawmark.web.wire.order_sheet import write_sheet

Writer = Callable[[dict[str, Any]], bytes]

FORMATS: Final[dict[str, dict[str, Writer]]] = {"order": {CSV: write_sheet}}
"""Paths to the media types that they offer, and what writes a rendered answer."""
