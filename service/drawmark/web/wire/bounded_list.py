"""A list of a request, read only as far as its limits and the words for its faults go."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, Final

import marshmallow as ma
import msgspec

from drawmark.web.wire.length_limit import LengthLimit
from drawmark.web.wire.plain_field import Converter
from drawmark.web.wire.problems import MOST_ERRORS
from drawmark.web.wire.request_body import AT_ONCE, decode

MOST_WORDED: Final = 100
"""Faults in all lists of a body that are put into words."""
_left: ContextVar[int] = ContextVar("_left", default=MOST_WORDED)


@contextmanager
def one_body() -> Iterator[None]:
    """Load one body, whose lists share the words for faults."""
    token = _left.set(MOST_WORDED)
    try:
        yield
    finally:
        _left.reset(token)


class BoundedList(ma.fields.List[Any]):
    """A list whose length is held before its items; those that are sound are not loaded.

    An item may still be JSON, in bytes. `limit` holds the length while a body is decoded.
    """

    def __init__(
        self,
        inner: Any,
        accepted: Any,
        convert: Converter | None,
        limit: LengthLimit | None,
        **options: Any,
    ) -> None:
        super().__init__(inner, **options)
        self.limit, self.accepted = limit, accepted
        self._convert = convert
        self._decode = msgspec.json.Decoder(accepted).decode

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> list[Any]:
        if not isinstance(value, list):
            raise self.make_error("invalid")
        self._validate(value)
        loaded: list[Any] = []
        faults: dict[int, Any] = {}
        count, left = 0, _left.get()
        for place, item in enumerate(value):
            if count >= min(MOST_ERRORS, left):
                break
            try:
                loaded.append(self._load(item, **kwargs))
            except ma.ValidationError as error:
                faults[place] = error.messages
                count += _count(error.messages)
                # Lists within an item have counted theirs, which are among these.
                _left.set(left - count)
        if faults:
            raise ma.ValidationError(faults)
        return loaded

    def _load(self, item: Any, **kwargs: Any) -> Any:
        is_text = isinstance(item, bytes)
        try:
            if self._convert is not None:
                # It finds figures out of range, and empties the lists of what it converts.
                self._convert(self._read(item), {})
            return self._read(item)
        except (msgspec.MsgspecError, RecursionError, ValueError, OverflowError):
            if is_text:
                item = _decode_short(item)
            return self.inner.deserialize(item, **kwargs)

    def _read(self, item: Any) -> Any:
        return (
            self._decode(item) if isinstance(item, bytes) else msgspec.convert(item, self.accepted)
        )


def _count(messages: Any) -> int:
    if isinstance(messages, dict):
        return sum(map(_count, messages.values()))
    return len(messages) if isinstance(messages, list) else 1


def _decode_short(text: bytes) -> Any:
    if len(text) > AT_ONCE:
        raise ma.ValidationError(f"must be at most {AT_ONCE} bytes")
    return decode(text)
