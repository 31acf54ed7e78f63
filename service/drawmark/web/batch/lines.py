"""Lines of a stream of items."""

from __future__ import annotations

from collections.abc import Iterator
from typing import BinaryIO, Final

from drawmark.web.batch.definition import LONGEST_LINE

_READ_AT_ONCE: Final = 256 * 1024


def lines_of(file: BinaryIO) -> Iterator[bytes | None]:
    """Read the lines that are not blank; None for each that is too long."""
    rest, passing_over = b"", False
    while block := file.read(_READ_AT_ONCE):
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
