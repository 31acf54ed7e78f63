"""A list of a request, read only as far as its limits and the words for its faults go."""

from __future__ import annotations

from typing import Any

import marshmallow as ma
import msgspec

from drawmark.web.wire.length_limit import LengthLimit
from drawmark.web.wire.problems import MOST_ERRORS
from drawmark.web.wire.request_body import AT_ONCE, decode
from drawmark.web.wire.wire_fields import Converter


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
        count = 0
        for place, item in enumerate(value):
            try:
                loaded.append(self._load(item, **kwargs))
            except ma.ValidationError as error:
                faults[place] = error.messages
                count += _count(error.messages)
                if count >= MOST_ERRORS:
                    break
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
