"""Blocks of texts, so that a long stream needs no more memory than a short one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeVar

_Text = TypeVar("_Text", bound=bytes | None)


def blocks_of(texts: Iterable[_Text], most: int, largest: int) -> Iterator[list[_Text]]:
    """Put texts together in blocks of at most `most` texts and about `largest` bytes."""
    block: list[_Text] = []
    size = 0
    for text in texts:
        block.append(text)
        size += 0 if text is None else len(text)
        if len(block) == most or size >= largest:
            yield block
            block, size = [], 0
    if block:
        yield block
