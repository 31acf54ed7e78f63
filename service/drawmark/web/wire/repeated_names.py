"""Refuses an object that has a name twice: the decoder would keep the last value and not say so.

Each name has a colon. A body without repeated names has as many as what was decoded from it, so
counting colons settles most bodies in little time.
"""

from __future__ import annotations

import json
from typing import Any, Final

import msgspec

from drawmark.web.wire.problems import ProblemError
from drawmark.web.wire.request_body import AT_ONCE

_encode: Final = msgspec.json.Encoder().encode


def refuse_repeated_names(body: bytes, struct: msgspec.Struct) -> None:
    """Refuse a body that was accepted as `struct` but repeats a name; ProblemError."""
    colons = body.count(b":")
    # A text may spell a colon with a backslash, and then its count says nothing.
    if b"\\" not in body and (
        # Encoded structs leave out what has its default, plain trees nothing.
        _encode(struct).count(b":") == colons
        or (len(body) <= AT_ONCE and _encode(msgspec.json.decode(body)).count(b":") == colons)
    ):
        return
    _DECODER.decode(body.decode())


def _take_members(members: list[tuple[str, Any]]) -> None:
    names = [name for name, _ in members]
    if len(set(names)) < len(names):
        name = next(name for place, name in enumerate(names) if name in names[:place])
        raise ProblemError(400, f"An object of the body has the name {name} twice.")


_DECODER: Final = json.JSONDecoder(object_pairs_hook=_take_members)
