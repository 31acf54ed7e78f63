"""Fit checks in any number, sent and answered block by block."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

import msgspec
import requests

from drawmark.blocks import blocks_of
from drawmark.client.connection import Answer, Connection
from drawmark.client.problem import ClientError

BLOCK_ITEMS: Final = 2000
BLOCK_SIZE: Final = 8 * 1024 * 1024
_NDJSON: Final = "application/x-ndjson"
_INDEX: Final = b'{"index":'


class _Summary(msgspec.Struct):
    """The last line of a batch, without what holds for all items."""

    items: int
    problems: int


class Batch(Iterator[Answer]):
    """Answers of a batch, in order, each with its `index`, `status`, and `result` or `problem`.

    After the last of them `summary` holds how many there were, and what holds for all: what no
    figure can tell, and cautions to show.
    """

    def __init__(self, lines: Iterator[bytes]) -> None:
        self._lines = lines
        self.summary: Answer = {}

    def __next__(self) -> Answer:
        """Give the next answer."""
        line = next(self._lines)
        answer: Answer = msgspec.json.decode(line)
        if line.startswith(_INDEX):
            return answer
        self.summary = answer
        raise StopIteration


def check_lines(connection: Connection, items: Iterable[bytes]) -> Iterator[bytes]:
    """Send fit checks that are JSON texts; give a text for each, and last the summary."""
    answered = problems = 0
    last: Answer = {}
    for block in blocks_of(items, BLOCK_ITEMS, BLOCK_SIZE):
        start, line = answered, b""
        for line in _check_block(connection, block):
            if line.startswith(_INDEX):
                # The service counts from the beginning of each request.
                yield b"%s%d,%s" % (_INDEX, answered, line.partition(b",")[2])
                answered += 1
        try:
            summary = msgspec.json.decode(line, type=_Summary)
        except msgspec.DecodeError:
            summary = _Summary(items=-1, problems=0)
        if not summary.items == answered - start == len(block):
            raise ClientError(f"the answer was cut off after {answered} items")
        problems += summary.problems
        last = msgspec.json.decode(line)
    if not answered:
        # Nothing was checked, which must not look as if all were well.
        raise ClientError("there is no item to check")
    yield msgspec.json.encode({**last, "items": answered, "problems": problems})


def _check_block(connection: Connection, block: list[bytes]) -> Iterator[bytes]:
    path = "fit-check/batch"
    with connection.send("POST", path, b"\n".join(block), _NDJSON) as response:
        try:
            yield from filter(None, response.iter_lines(chunk_size=1 << 16, delimiter=b"\n"))
        except requests.RequestException as error:
            raise connection.unanswered(path, error) from error
