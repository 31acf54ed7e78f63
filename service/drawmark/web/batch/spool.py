"""Keeps the whole of a streamed request, in memory or on disk, before it is answered.

A caller may send everything before it reads a byte. If it were answered meanwhile, each side could
wait forever for the other to read.
"""

from __future__ import annotations

import tempfile
from contextlib import suppress
from typing import BinaryIO, Final, cast

from flask import request

from drawmark.deadline import deadline
from drawmark.web.wire.problems import ProblemError
from drawmark.web.wire.request_body import reading_fault, refuse_coding, verify_length

IN_MEMORY: Final = 2 * 1024 * 1024
"""What is kept in memory; a longer request goes to a temporary file [byte]."""
_BLOCK: Final = 64 * 1024


def spool_body(most: int) -> BinaryIO:
    """Read a body of at most `most` bytes into a temporary file, and go to its beginning."""
    refuse_coding(request)
    request.max_content_length = most
    # It is open until the last line is answered.
    file = cast(BinaryIO, tempfile.SpooledTemporaryFile(IN_MEMORY))  # noqa: SIM115
    try:
        verify_length(_copy(file), request.content_length, most)
        deadline.restart()
    except BaseException:
        with suppress(OSError):
            file.close()
        raise
    return file


def _copy(file: BinaryIO) -> int:
    size = 0
    while block := _read():
        try:
            file.write(block)
        except OSError as error:
            raise _no_room() from error
        size += len(block)
    try:
        # What is still in memory is written now.
        file.seek(0)
    except OSError as error:
        raise _no_room() from error
    return size


def _no_room() -> ProblemError:
    return ProblemError(503, "There is no room for such a long request now. Try again later.")


def _read() -> bytes:
    try:
        return request.stream.read(_BLOCK)
    except Exception as error:
        raise reading_fault(error) from error
