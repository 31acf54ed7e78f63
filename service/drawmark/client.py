"""Sends fit checks to a running service, as many as there are, and prints each answer.

They go in blocks: the service takes the whole of a request before it answers, so a caller may
send first and read then, and needs no more memory for a long file than for a short one.
"""

from __future__ import annotations

import re
import sys
import time
from codecs import BOM_UTF8
from collections.abc import Iterable, Iterator
from contextlib import nullcontext
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Any, BinaryIO, Final

import msgspec
import requests
from requests.auth import AuthBase

from drawmark.errors import UserError

NDJSON: Final = "application/x-ndjson"
BLOCK_ITEMS: Final = 2000
BLOCK_SIZE: Final = 8 * 1024 * 1024
MOST_TRIES: Final = 10
LONGEST_WAIT: Final = 30.0
TIMEOUT: Final = (10.0, 300.0)
"""What connecting may take, and each wait for the next bytes [s]."""
_DOCUMENT: Final = re.compile(rb'\s*(\[|\{\s*$|\{\s*"items"\s*:)')
_INDEX: Final = b'{"index":'


class BatchError(UserError):
    """Raised where the service cannot be reached, refuses, or stops in the middle."""


class _Items(msgspec.Struct):
    items: list[msgspec.Raw]


class _Count(msgspec.Struct):
    """The last line of an answer, beside what holds for all items."""

    items: int
    problems: int


class _Bearer(AuthBase):
    """Sends the token, whatever else this machine knows of the service."""

    def __init__(self, token: str) -> None:
        self._token = token

    def __call__(self, request: requests.PreparedRequest) -> requests.PreparedRequest:
        request.headers["Authorization"] = f"Bearer {self._token}"
        return request


@dataclass(slots=True)
class Caller:
    """Asks a service.

    Parameters
    ----------
    url : str
        Where it listens.
    token_file : str or None
        File that holds the token.
    """

    url: str
    token_file: str | None = None
    _session: requests.Session = field(default_factory=requests.Session, init=False)

    def __post_init__(self) -> None:
        """Read the token."""
        if self.token_file is not None:
            try:
                token = Path(self.token_file).read_text(encoding="utf-8").strip()
            except (OSError, UnicodeDecodeError) as error:
                told = getattr(error, "strerror", None) or "it is no text"
                raise BatchError(f"the token cannot be read: {told}") from error
            self._session.auth = _Bearer(token)

    def ask(self, lines: list[bytes]) -> Iterator[bytes]:
        """Send a block of items and give its answers, the count at the end among them."""
        url = self.url.rstrip("/") + "/v1/fit-check/batch"
        headers = {"Content-Type": NDJSON, "Accept": NDJSON}
        body = b"\n".join(lines)
        try:
            for _ in range(MOST_TRIES):
                response = self._session.post(
                    url, data=body, headers=headers, stream=True, timeout=TIMEOUT
                )
                if response.status_code not in (429, 503):
                    break
                wait = response.headers.get("Retry-After", "1")
                time.sleep(min(float(wait) if wait.isdecimal() else 1.0, LONGEST_WAIT))
            if response.status_code != 200:
                raise BatchError(f"refused with {response.status_code}: {_detail_of(response)}")
            yield from response.iter_lines(chunk_size=1 << 16, delimiter=b"\n")
        except requests.ConnectionError as error:
            raise BatchError(f"{url}: no service answers there, or the connection broke") from error
        except requests.RequestException as error:
            raise BatchError(f"{url}: {error}") from error


def _detail_of(response: requests.Response) -> str:
    try:
        return str(response.json()["detail"])
    except (ValueError, KeyError, TypeError):
        return response.reason


def read_items(file: BinaryIO) -> Iterator[bytes]:
    """Read items, a line each: of lines, of a JSON list, or of the body of a batch.

    Parameters
    ----------
    file : file
        JSON or lines of JSON.

    Yields
    ------
    bytes
        An item.
    """
    # Some editors begin a file with a mark that is no part of its text.
    lines = chain((next(file, b"").removeprefix(BOM_UTF8),), file)
    first = next((line for line in lines if line.strip()), b"")
    if not _DOCUMENT.match(first):
        yield from (line.strip() for line in chain((first,), lines) if line.strip())
        return
    text = first + file.read()
    try:
        if first.lstrip().startswith(b"["):
            raws = msgspec.json.decode(text, type=list[msgspec.Raw])
        else:
            raws = msgspec.json.decode(text, type=_Items).items
    except (msgspec.DecodeError, RecursionError) as error:
        raise BatchError(f"no list of items: {error}") from error
    yield from (msgspec.json.format(bytes(raw), indent=-1) for raw in raws)


def answer_items(items: Iterable[bytes], caller: Caller, out: BinaryIO) -> int:
    """Have items answered, block by block, and write each answer as it comes.

    Parameters
    ----------
    items : iterable of bytes
        Items.
    caller : Caller
        Asks the service.
    out : file
        Where the answers go.

    Returns
    -------
    int
        How many items were answered with a problem.

    Raises
    ------
    BatchError
        If there are none, or not all were answered.
    """
    start = problems = 0
    beside: dict[str, Any] = {}
    for block in _blocks_of(items):
        last = b""
        answered = 0
        for line in caller.ask(block):
            if line.startswith(_INDEX):
                # The service counts from the beginning of each request.
                _, _, rest = line.partition(b",")
                out.write(b"%s%d,%s\n" % (_INDEX, start + answered, rest))
                answered += 1
            last = line or last
        out.flush()
        start += answered
        told = _read_count(last)
        if told is None or not told.items == answered == len(block):
            raise BatchError(f"the answer was cut off after {start} items")
        problems += told.problems
        beside = msgspec.json.decode(last)
    if not start:
        # Nothing was checked, which must not look as if all were well.
        raise BatchError("there is no item to check")
    out.write(msgspec.json.encode({**beside, "items": start, "problems": problems}) + b"\n")
    out.flush()
    return problems


def _read_count(line: bytes) -> _Count | None:
    try:
        return msgspec.json.decode(line, type=_Count)
    except msgspec.DecodeError:
        return None


def _blocks_of(items: Iterable[bytes]) -> Iterator[list[bytes]]:
    block: list[bytes] = []
    size = 0
    for item in items:
        block.append(item)
        size += len(item)
        if len(block) == BLOCK_ITEMS or size >= BLOCK_SIZE:
            yield block
            block, size = [], 0
    if block:
        yield block


def main(url: str, token_file: str | None, name: str) -> int:
    """Send the items of a file, or of standard input, and print the answers.

    Parameters
    ----------
    url : str
        Where the service listens.
    token_file : str or None
        File that holds the token.
    name : str
        The file; `-` for standard input.

    Returns
    -------
    int
        0 where all items were answered with a result, 1 where some have a problem.

    Raises
    ------
    BatchError
        If the file cannot be read, holds no item, or not all were answered.
    """
    caller = Caller(url, token_file)
    try:
        with nullcontext(sys.stdin.buffer) if name == "-" else Path(name).open("rb") as file:
            problems = answer_items(read_items(file), caller, sys.stdout.buffer)
    except BrokenPipeError:
        # Whoever reads the answers has had enough.
        raise
    except OSError as error:
        where = "broke off" if error.filename is None else f"{error.filename} cannot be read"
        raise BatchError(f"{where}: {error.strerror or error}") from error
    return 1 if problems else 0
