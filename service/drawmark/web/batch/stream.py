"""Answers a stream of items: a line for each, and a last line that counts them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import BinaryIO, Final

import msgspec

from drawmark.blocks import blocks_of
from drawmark.deadline import deadline
from drawmark.web.batch.answer_items import answer_items
from drawmark.web.batch.definition import COMMON, LONGEST_LINE
from drawmark.web.batch.read_items import read_lines
from drawmark.web.batch.single_item import Progress
from drawmark.web.wire.operation import Operation

_READ_AT_ONCE: Final = 256 * 1024
_BLOCK_ITEMS: Final = 4000
_BLOCK_SIZE: Final = 4 * 1024 * 1024
SENT_AT_ONCE: Final = 128 * 1024
"""Bytes that a caller has to take within a time."""


def answer_stream(file: BinaryIO, operation: Operation) -> Iterator[bytes]:
    """Answer a file of lines: a line for each item, and a last line that counts them."""
    progress = Progress()
    for block in blocks_of(lines_of(file), _BLOCK_ITEMS, _BLOCK_SIZE):
        entries = answer_items(read_lines(block, operation), operation, progress)
        for piece in blocks_of(entries, len(entries), SENT_AT_ONCE):
            yield b"\n".join([*piece, b""])
    last = {"items": progress.items, "problems": progress.problems, **COMMON}
    yield msgspec.json.encode(last) + b"\n"


def lines_of(file: BinaryIO) -> Iterator[bytes | None]:
    """Read the lines that are not blank; None for each that is too long."""
    rest, passing_over = b"", False
    while block := file.read(_READ_AT_ONCE):
        deadline.check()
        *lines, rest = (rest + block).split(b"\n")
        if passing_over and lines:
            passing_over = False
            del lines[0]
        for line in lines:
            if len(line) > LONGEST_LINE:
                yield None
            elif not line.isspace() and line:
                yield line
        if len(rest) > LONGEST_LINE and not passing_over:
            passing_over = True
            yield None
        if passing_over:
            rest = b""
    if rest and not rest.isspace():
        yield rest
