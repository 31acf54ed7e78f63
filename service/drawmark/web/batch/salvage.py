"""Finds where the items of a batch begin and end, if one of them cannot be decoded."""

from __future__ import annotations

import json
import re
from typing import Final

from drawmark.web.batch.definition import MOST_ITEMS
from drawmark.web.wire.problems import ProblemError
from drawmark.web.wire.request_body import DECODER, TOO_DEEP, NotJsonError

MOST_SKIPPED: Final = 1 << 20
"""Characters of items that are nested too deeply, together; it takes long to skip them."""
_HEAD: Final = re.compile(r'[ \t\n\r]*{[ \t\n\r]*"items"[ \t\n\r]*:[ \t\n\r]*\[[ \t\n\r]*')
_NEXT: Final = re.compile(r"[ \t\n\r]*(,|\][ \t\n\r]*}[ \t\n\r]*\Z)[ \t\n\r]*")
# A text ends at its first quote that is not spelled with a backslash.
_SIGNS: Final = re.compile(r'"[^"\\]*+(?:\\.[^"\\]*+)*+"|[\[{]++|[\]}]|"', re.DOTALL)


def split_items(body: bytes) -> list[bytes]:
    """Take the items out of a batch, each as it was sent.

    They may be nested too deeply or hold half a character. There is one more than MOST_ITEMS where
    they are too many, and none where the body is no batch. ProblemError if it is not JSON.
    """
    text = body.decode()
    found = _HEAD.match(text)
    if found is None:
        return []
    items: list[bytes] = []
    skipped = 0
    while len(items) <= MOST_ITEMS:
        start = found.end()
        try:
            end = DECODER.raw_decode(text, start)[1]
        except RecursionError:
            end = _end_of(text, start, MOST_SKIPPED - skipped)
            skipped += end - start
        except json.JSONDecodeError as error:
            raise NotJsonError(error.msg) from error
        items.append(text[start:end].encode())
        found = _NEXT.match(text, end)
        if found is None:
            raise NotJsonError("a comma or the end of the list is missing")
        if found[1] != ",":
            break
    return items


def _end_of(text: str, start: int, most: int) -> int:
    """Find the end of an item by counting its brackets."""
    depth = 0
    for found in _SIGNS.finditer(text, start, min(len(text), start + most)):
        signs = found[0]
        if signs[0] in "[{":
            depth += len(signs)
        elif signs in ("]", "}"):
            depth -= 1
            if not depth:
                return found.end()
        elif signs == '"':
            break
    raise ProblemError(400, TOO_DEEP)
