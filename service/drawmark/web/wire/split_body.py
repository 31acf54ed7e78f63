"""Takes the items of a body's lists out of it, each as it was sent, without decoding them.

It reads no further than the lists may be long, so that a body that is refused costs little.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, Final

import msgspec

from drawmark.web.wire.length_limit import LengthLimit
from drawmark.web.wire.problems import MISFIT, ProblemError
from drawmark.web.wire.request_body import AT_ONCE, TOO_DEEP, NotJsonError, decode

MOST_MEMBERS: Final = 100
"""Members of an object that are read."""
MOST_SKIPPED: Final = AT_ONCE
"""Bytes of values that are nested too deeply, together; it takes long to skip them."""
_DEPTH: Final = 12
"""How deep a value may be nested to be skipped in one step; no request is as deep."""
# A text ends at its first quote that is not spelled with a backslash.
_TEXT: Final = rb'"[^"\\]*+(?:\\.[^"\\]*+)*+"'


def _inside_of(depth: int) -> bytes:
    inner = rb"[\[{]%b[\]}]" % _inside_of(depth - 1) if depth else rb"(?!)"
    return rb'(?:[^\[\]{}"]++|%b|%b)*+' % (_TEXT, inner)


_VALUE: Final = re.compile(
    rb'(?:[^\[\]{}",]++|%b|[\[{]%b[\]}])++' % (_TEXT, _inside_of(_DEPTH)), re.DOTALL
)
_OBJECT: Final = re.compile(rb"[ \t\n\r]*{")
_NAME: Final = re.compile(rb"[ \t\n\r]*(%b)[ \t\n\r]*:[ \t\n\r]*" % _TEXT, re.DOTALL)
_SIGNS: Final = re.compile(rb'%b|[\[{]++|[\]}]|"' % _TEXT, re.DOTALL)
_HALF: Final = re.compile(rb"\\u[dD][89a-fA-F]")
"""A character that JSON spells in two halves, or one of them without the other."""
_decode_raw: Final = msgspec.json.Decoder(msgspec.Raw).decode


def outline(body: bytes, limits: Iterable[LengthLimit]) -> Any:
    """Decode a body, but for the items of its lists; ProblemError if it cannot be read.

    It is None where the body is no object.
    """
    is_json = _verify_json(body)
    found = _OBJECT.match(body)
    if found is None:
        if not is_json:
            raise ProblemError(400, TOO_DEEP)
        return None
    wanted = {msgspec.json.encode(limit.name): limit for limit in limits}
    reader = _Reader(body)
    lists: dict[str, list[bytes]] = {}
    rest: list[bytes] = []
    start, size = found.end(), 0
    while name := _NAME.match(body, start):
        limit = wanted.get(name[1])
        if limit is not None and body[name.end()] == ord("["):
            lists[limit.name], end = reader.split_list(name.end() + 1, limit)
        else:
            end = reader.end_of_value(name.end())
            size += end - start
            if size > AT_ONCE:
                raise ProblemError(
                    413, f"Beside its lists the body is longer than {AT_ONCE} bytes."
                )
            rest.append(body[start:end])
        if len(rest) > MOST_MEMBERS:
            fault = {"pointer": "#", "detail": f"must have at most {MOST_MEMBERS} members"}
            raise ProblemError(422, MISFIT, [fault])
        start = end + 1
        if body[end : end + 1] != b",":
            break
    if not is_json:
        _verify_parts(body, start, lists)
    return {**decode(b"{%b}" % b",".join(rest)), **lists}


def _verify_json(body: bytes) -> bool:
    """Refuse what is not JSON; False where that is still to be seen."""
    if not body:
        raise NotJsonError("it is empty")
    try:
        _decode_raw(body)
    except RecursionError:
        return False
    except msgspec.DecodeError as error:
        if not _HALF.search(body):
            raise NotJsonError(str(error)) from error
        return False
    return True


def _verify_parts(body: bytes, end: int, lists: dict[str, list[bytes]]) -> None:
    """Refuse what is not JSON in a body that is too deep, or has half a character, to be sure."""
    if body[end - 1 : end] != b"}" or body[end:].strip(b" \t\n\r"):
        raise NotJsonError("a comma or the end of the object is missing")
    for item in (item for items in lists.values() for item in items if len(item) <= AT_ONCE):
        try:
            decode(item)
        except NotJsonError:
            raise
        except ProblemError:
            continue


class _Reader:
    """Finds where values end in a body that is JSON as far as it was checked."""

    def __init__(self, body: bytes) -> None:
        self._body = body
        self._to_skip = MOST_SKIPPED

    def split_list(self, start: int, limit: LengthLimit) -> tuple[list[bytes], int]:
        """Give the items of the list whose first item begins at `start`, and where it ends."""
        body = self._body
        limit.start()
        items: list[bytes] = []
        while True:
            end = self.end_of_value(start)
            item = body[start:end].strip(b" \t\n\r")
            last = body[end : end + 1] == b"]"
            if last and not item and not items:
                return items, end + 1
            if not item or body[end : end + 1] == b"}":
                raise NotJsonError("an item of a list is missing")
            limit.count()
            items.append(item)
            start = end + 1
            if last:
                return items, self._skip_space(start)

    def end_of_value(self, start: int) -> int:
        """Find the comma or bracket behind the value that begins at `start`."""
        found = _VALUE.match(self._body, start)
        end = found.end() if found else start
        if self._body[end : end + 1] in (b",", b"]", b"}"):
            return end
        return self._skip_space(self._end_of_deep(end))

    def _skip_space(self, start: int) -> int:
        end = start
        while self._body[end : end + 1] in (b" ", b"\t", b"\n", b"\r"):
            end += 1
        return end

    def _end_of_deep(self, start: int) -> int:
        """Find the end of a value by counting its brackets."""
        depth = 0
        most = min(len(self._body), start + self._to_skip)
        for found in _SIGNS.finditer(self._body, start, most):
            signs = found[0]
            if signs[0] in b"[{":
                depth += len(signs)
            elif signs in (b"]", b"}"):
                depth -= 1
                if not depth:
                    self._to_skip -= found.end() - start
                    return found.end()
            elif signs == b'"':
                break
        raise ProblemError(400, TOO_DEEP)
