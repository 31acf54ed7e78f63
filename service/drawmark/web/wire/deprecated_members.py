"""Tells a caller that its request holds members which are on their way out.

The headers are `Deprecation` (RFC 9745), `Sunset` (RFC 8594), and a `Link` to the operation's text.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import UTC, date, datetime, time
from email.utils import format_datetime
from itertools import islice
from typing import Any, Final

import msgspec

from drawmark.deadline import deadline
from drawmark.deprecation import Deprecated
from drawmark.fitting.field_kinds import Local, Part
from drawmark.fitting.fields import specs_of
from drawmark.web.wire.conversion import Inputs

Path = tuple[str, ...]
Member = tuple[Path, Deprecated]
MOST_TOLD: Final = 10
"""Members that one answer tells of: proxies and clients read a few kilobytes of headers."""
_LAST_MOMENT: Final = time(23, 59, 59)


def deprecated_members(cls: type, inputs: Inputs, path: Path = ()) -> Iterator[Member]:
    """Find the deprecated members of a request, those of plugins' inputs among them."""
    for name, spec in specs_of(cls).items():
        inner = (*path, name)
        if spec.deprecated is not None:
            yield inner, spec.deprecated
        if isinstance(spec, Part):
            yield from deprecated_members(spec.cls, inputs, inner)
        elif isinstance(spec, Local):
            yield from deprecated_inputs(inputs, inner)


def deprecated_inputs(inputs: Inputs, path: Path) -> Iterator[Member]:
    """Find the deprecated inputs of plugins."""
    for plugin, cls in inputs:
        yield from deprecated_members(cls, (), (*path, plugin))


class DeprecatedMembers:
    """The members of an operation's requests that are on their way out; usually none."""

    def __init__(self, members: Iterable[Member], anchor: str) -> None:
        self._members, self._anchor = tuple(members), anchor
        self._names = [path[-1].encode() for path, _ in self._members]

    def __bool__(self) -> bool:
        """Tell whether there are any."""
        return bool(self._members)

    def under(self, name: str) -> DeprecatedMembers:
        """Give them as they stand in a body that holds its requests in a member of that name."""
        members = [((name, *path), one) for path, one in self._members]
        return DeprecatedMembers(members, self._anchor)

    def headers_for(self, bodies: Iterable[bytes]) -> list[tuple[str, str]]:
        """Give the headers of an answer to bodies that hold any; one that is not JSON has none."""
        used: dict[Path, Deprecated] = {}
        for body in bodies:
            deadline.check()
            for name in self._names:
                if name in body:
                    break
            else:
                continue
            # Only a body that holds such a name is read again.
            with suppress(msgspec.DecodeError, RecursionError, ValueError):
                tree = msgspec.json.decode(body)
                used |= {path: one for path, one in self._members if _holds(tree, path)}
        return _headers(used, self._anchor) if used else []


def _holds(tree: Any, path: Path) -> bool:
    if isinstance(tree, list):
        return any(_holds(item, path) for item in tree)
    if not path:
        return True
    return isinstance(tree, dict) and path[0] in tree and _holds(tree[path[0]], path[1:])


def _headers(used: Mapping[Path, Deprecated], anchor: str) -> list[tuple[str, str]]:
    since = min(one.since for one in used.values())
    headers = [("Deprecation", f"@{int(_moment(since, time.min).timestamp())}")]
    ends = [one.until for one in used.values() if one.until is not None]
    if ends:
        last = _moment(min(ends), _LAST_MOMENT)
        headers.append(("Sunset", format_datetime(last, usegmt=True)))
    told = islice(used.items(), MOST_TOLD)
    return [*headers, *(("Link", _link(anchor, path, one)) for path, one in told)]


def _moment(day: date, at: time) -> datetime:
    return datetime.combine(day, at, UTC)


def _link(anchor: str, path: Sequence[str], one: Deprecated) -> str:
    text = f"{'.'.join(path)}: {one.words}"
    # A header holds plain characters; the document has the words as they are.
    title = "".join(sign if " " <= sign <= "~" and sign not in '"\\' else "?" for sign in text)
    return f'</docs#{anchor}>; rel="deprecation"; type="text/html"; title="{title}"'
