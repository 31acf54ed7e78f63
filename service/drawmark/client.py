"""Sends any number of fit checks to a running service and writes each answer as it comes.

Items go in blocks, so a long file needs no more memory than a short one.
"""

from __future__ import annotations

import re
import sys
import time
from codecs import BOM_UTF8
from collections.abc import Iterable, Iterator
from contextlib import nullcontext
from itertools import chain
from pathlib import Path
from typing import Any, BinaryIO, Final

import msgspec
import requests
from requests.auth import AuthBase

from drawmark.blocks import blocks_of
from drawmark.errors import UserError

NDJSON: Final = "application/x-ndjson"
BLOCK_ITEMS: Final = 2000
BLOCK_SIZE: Final = 8 * 1024 * 1024
MOST_TRIES: Final = 10
LONGEST_WAIT: Final = 30.0
TIMEOUT: Final = (10.0, 300.0)
"""Time to connect, and to wait for the next bytes [s]."""
_JSON_DOCUMENT: Final = re.compile(rb'\s*(\[|\{\s*$|\{\s*"items"\s*:)')
_INDEX: Final = b'{"index":'


class ClientError(UserError):
    """The service cannot be reached, refuses, or stops in the middle; or there is no item."""


class _Batch(msgspec.Struct):
    items: list[msgspec.Raw]


class _Summary(msgspec.Struct):
    """The last line of an answer, without what holds for all items."""

    items: int
    problems: int


class _BearerAuth(AuthBase):
    """Sends the token, and never credentials that this machine keeps for the host."""

    def __init__(self, token: str) -> None:
        self._token = token

    def __call__(self, request: requests.PreparedRequest) -> requests.PreparedRequest:
        request.headers["Authorization"] = f"Bearer {self._token}"
        return request


class Client:
    """A connection to a service; `token_file` holds the token, if one is needed."""

    def __init__(self, url: str, token_file: str | None = None) -> None:
        self._url = url.rstrip("/")
        self._session = requests.Session()
        if token_file is not None:
            self._session.auth = _BearerAuth(_read_token(token_file))

    def check_block(self, items: list[bytes]) -> Iterator[bytes]:
        """Send a block of fit checks; yield a line for each, and the summary line."""
        url = f"{self._url}/v1/fit-check/batch"
        headers = {"Content-Type": NDJSON, "Accept": NDJSON}
        body = b"\n".join(items)
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
                detail = _detail_of(response)
                raise ClientError(f"{url} refused with status {response.status_code}: {detail}")
            yield from response.iter_lines(chunk_size=1 << 16, delimiter=b"\n")
        except requests.ConnectionError as error:
            raise ClientError(f"{url} does not answer, or the connection broke") from error
        except requests.RequestException as error:
            raise ClientError(f"{url}: {error}") from error


def _read_token(path: str) -> str:
    try:
        return Path(path).read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not text"
        raise ClientError(f"the token file {path} cannot be read: {reason}") from error


def _detail_of(response: requests.Response) -> str:
    try:
        return str(response.json()["detail"])
    except (ValueError, KeyError, TypeError):
        return response.reason


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


def check_items(items: Iterable[bytes], client: Client, out: BinaryIO) -> int:
    """Check items block by block, and write each answer as it comes; give how many have problems.

    Raises ClientError if there are none, or if not all were answered.
    """
    answered = problems = 0
    last: dict[str, Any] = {}
    for block in blocks_of(items, BLOCK_ITEMS, BLOCK_SIZE):
        start, line = answered, b""
        for line in filter(None, client.check_block(block)):
            if line.startswith(_INDEX):
                # The service counts from the beginning of each request.
                _, _, rest = line.partition(b",")
                out.write(b"%s%d,%s\n" % (_INDEX, answered, rest))
                answered += 1
        out.flush()
        summary = _read_summary(line)
        if summary is None or not summary.items == answered - start == len(block):
            raise ClientError(f"the answer was cut off after {answered} items")
        problems += summary.problems
        last = msgspec.json.decode(line)
    if not answered:
        # Nothing was checked, which must not look as if all were well.
        raise ClientError("there is no item to check")
    out.write(msgspec.json.encode({**last, "items": answered, "problems": problems}) + b"\n")
    out.flush()
    return problems


def _read_summary(line: bytes) -> _Summary | None:
    try:
        return msgspec.json.decode(line, type=_Summary)
    except msgspec.DecodeError:
        return None


def check_file(name: str, client: Client) -> int:
    """Check the items of a file, or of standard input for `-`, and print the answers.

    Gives how many have problems; raises ClientError as check_items does.
    """
    try:
        with nullcontext(sys.stdin.buffer) if name == "-" else Path(name).open("rb") as file:
            return check_items(read_items(file), client, sys.stdout.buffer)
    except BrokenPipeError:
        # Whoever reads the answers has stopped reading.
        raise
    except OSError as error:
        where = "reading or writing" if error.filename is None else f"reading {error.filename}"
        raise ClientError(f"{where} failed: {error.strerror or error}") from error
