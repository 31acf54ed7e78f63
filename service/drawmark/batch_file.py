"""Fit checks from a file, answered by a running service and written as they come."""

from __future__ import annotations

import re
import sys
from codecs import BOM_UTF8
from collections.abc import Iterable, Iterator
from contextlib import nullcontext
from itertools import chain
from pathlib import Path
from typing import BinaryIO, Final

import msgspec

from drawmark.client import ClientError, Drawmark

_JSON_DOCUMENT: Final = re.compile(rb'\s*(\[|\{\s*$|\{\s*"items"\s*:)')


class _Batch(msgspec.Struct):
    items: list[msgspec.Raw]


class _Summary(msgspec.Struct):
    problems: int


def read_token(path: str) -> str:
    """Read the token that a file holds."""
    try:
        return Path(path).read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not text"
        raise ClientError(f"the token file {path} cannot be read: {reason}") from error


def read_items(file: BinaryIO) -> Iterator[bytes]:
    """Read items, one a line, from lines of JSON, a JSON list, or the body of a batch."""
    # Some editors begin a file with a byte order mark.
    lines = chain((next(file, b"").removeprefix(BOM_UTF8),), file)
    first = next((line for line in lines if line.strip()), b"")
    if not _JSON_DOCUMENT.match(first):
        yield from (line.strip() for line in chain((first,), lines) if line.strip())
        return
    text = first + file.read()
    try:
        if first.lstrip().startswith(b"["):
            raws = msgspec.json.decode(text, type=list[msgspec.Raw])
        else:
            raws = msgspec.json.decode(text, type=_Batch).items
    except (msgspec.DecodeError, RecursionError) as error:
        raise ClientError(f"the file is not a list of items: {error}") from error
    yield from (msgspec.json.format(bytes(raw), indent=-1) for raw in raws)


def _shown(answers: Iterable[bytes], file: BinaryIO) -> Iterable[bytes]:
    """Show on a terminal how many lines are answered, unless they are written there."""
    if not sys.stderr.isatty() or sys.stdout.isatty():
        return answers
    # Loading it takes longer than checking a few items.
    from tqdm import tqdm

    total = None
    if file.seekable():
        # The last line of the answer counts the other ones.
        total = sum(1 for _ in read_items(file)) + 1
        file.seek(0)
    return tqdm(answers, total=total, unit=" lines", leave=False, file=sys.stderr)


def check_file(name: str, client: Drawmark) -> int:
    """Check the items of a file, or of standard input for `-`, and print the answers.

    Gives how many have problems; raises ClientError if there are none, or not all were answered.
    """
    line, out = b"", sys.stdout.buffer
    try:
        with nullcontext(sys.stdin.buffer) if name == "-" else Path(name).open("rb") as file:
            for line in _shown(client.check_lines(read_items(file)), file):
                out.write(line + b"\n")
        out.flush()
    except BrokenPipeError:
        # Whoever reads the answers has stopped reading.
        raise
    except OSError as error:
        where = "reading or writing" if error.filename is None else f"reading {error.filename}"
        raise ClientError(f"{where} failed: {error.strerror or error}") from error
    return msgspec.json.decode(line, type=_Summary).problems
