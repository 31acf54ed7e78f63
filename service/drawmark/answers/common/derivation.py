"""Where the figures of an answer come from, and what was assumed."""

from __future__ import annotations

from functools import lru_cache

import msgspec


@lru_cache(maxsize=16)
def sources_response(sources: tuple[tuple[str, str], ...]) -> msgspec.Raw:
    """Name the source behind each figure of an answer that has no terms; encoded once."""
    return msgspec.Raw(
        msgspec.json.encode([{"figure": figure, "source": key} for figure, key in sources])
    )
