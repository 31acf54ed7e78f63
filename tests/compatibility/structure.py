"""What one document promises and another breaks: descriptions, examples and names aside.

A request that was accepted is still accepted, and an answer still has each member, as it was.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from itertools import repeat
from typing import Any, Final, NamedTuple

Schema = dict[str, Any]
Change = tuple[str, str]
"""Place in a request or an answer, and what changed there."""
Difference = tuple[str, str, str]
"""The same, behind the path of its operation."""

_JSON: Final = "application/json"
_LEAST: Final = ("minimum", "minLength", "minItems")
_MOST: Final = ("maximum", "maxLength", "maxItems")
_CONDITIONS: Final = ("dependentSchemas", "if", "then", "else", "not", "anyOf")
_WORDS: Final = ("description", "example", "examples", "summary", "title")
_RANGE: Final = re.compile(r"(-?[\d.e+-]+) to (-?[\d.e+-]+) ([^;]+?)(?=;|\.$|\.\s|$)")


class _Pair(NamedTuple):
    """The documents that are compared, and whether their conditions can be."""

    old: Any
    new: Any
    with_conditions: bool

    def flat(self, before: Schema, after: Schema) -> tuple[Schema, Schema]:
        """Put each of two schemas into one."""
        return _flat(before, self.old), _flat(after, self.new)


def differences(old: Any, new: Any) -> Iterator[Difference]:
    """List each promise of the old document that the new one breaks."""
    # 0.1.0 wrote what fields ask of each other in another way.
    pair = _Pair(old, new, "dependentSchemas" in str(old))
    for path, methods in old["paths"].items():
        for method, before in methods.items():
            after = new["paths"].get(path, {}).get(method)
            changes = [(method, "gone")] if after is None else _of_operation(before, after, pair)
            yield from ((path, place, change) for place, change in changes)


def _of_operation(before: Any, after: Any, pair: _Pair) -> Iterator[Change]:
    if before["operationId"] != after["operationId"]:
        yield "operationId", "renamed"
    for status in before["responses"]:
        if status not in after["responses"]:
            yield f"status {status}", "gone"
    if "requestBody" in before:
        taken, takes = (one["requestBody"]["content"][_JSON]["schema"] for one in (before, after))
        yield from _of_request(*pair.flat(taken, takes), pair, "request")
    offered, offers = (one["responses"]["200"]["content"] for one in (before, after))
    for kind, shown in offered.items():
        if kind not in offers:
            yield kind, "gone"
        elif kind == _JSON:
            both = pair.flat(shown["schema"], offers[kind]["schema"])
            yield from _of_answer(*both, pair, "answer")


def _flat(schema: Schema, document: Any) -> Schema:
    """Put a schema, what it refers to, and all else that a value must fit, into one."""
    parts = list(schema.get("allOf", ()))
    if "$ref" in schema:
        parts.insert(0, document["components"]["schemas"][schema["$ref"].rpartition("/")[2]])
    flat = {name: value for name, value in schema.items() if name not in ("allOf", "$ref")}
    for part in map(_flat, reversed(parts), repeat(document)):
        flat = _merged(part, flat)
    return {"required": [], "properties": {}, "dependentRequired": {}, **flat}


def _merged(one: Schema, other: Schema) -> Schema:
    merged = {**one, **other}
    known, more = one.get("properties", {}), other.get("properties", {})
    if one.get("additionalProperties") is False:
        # What else is said of members makes no new ones.
        more = {name: more[name] for name in more.keys() & known.keys()}
    merged["properties"] = {
        name: {"allOf": [known[name], more[name]]}
        if name in known and name in more
        else known.get(name, more.get(name))
        for name in (*known, *more)
    }
    if "items" in one and "items" in other:
        merged["items"] = {"allOf": [one["items"], other["items"]]}
    merged["required"] = sorted({*one.get("required", ()), *other.get("required", ())})
    needs = [schema.get("dependentRequired", {}) for schema in (one, other)]
    merged["dependentRequired"] = {
        name: sorted({other for need in needs for other in need.get(name, ())})
        for need in needs
        for name in need
    }
    return merged


def _of_request(before: Schema, after: Schema, pair: _Pair, place: str) -> Iterator[Change]:
    yield from ((place, f"takes no {kind} any more") for kind in _kinds(before) - _kinds(after))
    yield from ((place, f"{word} gone") for word in _words_gone(before, after))
    yield from ((place, change) for change in _narrowed(before, after))
    for name in after["required"]:
        if name not in before["required"]:
            yield f"{place}.{name}", "newly required"
    members, known = before["properties"], after["properties"]
    for name in members.keys() & after["dependentRequired"].keys():
        beside = before["dependentRequired"].get(name, ())
        for other in after["dependentRequired"][name]:
            if other not in beside:
                yield f"{place}.{other}", f"newly required beside {name}"
    for name in _CONDITIONS if pair.with_conditions else ():
        if _bare(before.get(name)) != _bare(after.get(name)):
            yield place, f"{name} changed"
    for name, member in members.items():
        if name in known:
            yield from _of_request(*pair.flat(member, known[name]), pair, f"{place}.{name}")
        else:
            yield f"{place}.{name}", "gone"
    if "items" in before and "items" in after:
        yield from _of_request(*pair.flat(before["items"], after["items"]), pair, f"{place}[]")


def _of_answer(before: Schema, after: Schema, pair: _Pair, place: str) -> Iterator[Change]:
    yield from ((place, f"gives {kind}, too") for kind in _kinds(after) - _kinds(before))
    yield from ((place, f"{word} gone") for word in _words_gone(before, after))
    for name, member in before["properties"].items():
        inner = f"{place}.{name}"
        if name not in after["properties"]:
            yield inner, "gone"
            continue
        if name in before["required"] and name not in after["required"]:
            yield inner, "not always given"
        yield from _of_answer(*pair.flat(member, after["properties"][name]), pair, inner)
    if "items" in before and "items" in after:
        yield from _of_answer(*pair.flat(before["items"], after["items"]), pair, f"{place}[]")


def _narrowed(before: Schema, after: Schema) -> Iterator[str]:
    """Tell limits and ranges that leave less room than before."""
    for bound in (*_LEAST, *_MOST):
        was, limit = before.get(bound), after.get(bound)
        if limit is not None and (was is None or (limit > was if bound in _LEAST else limit < was)):
            yield f"{bound} {was} became {limit}"
    now = _ranges(after)
    for unit, (low, high) in _ranges(before).items():
        if unit not in now or now[unit][0] > low or now[unit][1] < high:
            yield f"{low:g} to {high:g} {unit} became {now.get(unit)}"


def _kinds(schema: Schema) -> set[str]:
    """Name the kinds of value that a schema allows; a quantity is told by its units."""
    ways = schema.get("anyOf", ())
    if "type" not in schema and any("type" in way or "$ref" in way for way in ways):
        return {way.get("type", "quantity") for way in ways}
    return {schema["type"]} if "type" in schema else set()


def _words_gone(before: Schema, after: Schema) -> list[str]:
    """Give the words that are no longer among the choices."""
    was, choices = (
        {*one.get("enum", ()), *([one["const"]] if "const" in one else ())}
        for one in (before, after)
    )
    return sorted(was - choices) if choices else []


def _ranges(schema: Schema) -> dict[str, tuple[float, float]]:
    """Read the range of each unit, as the description of a quantity states it."""
    text = schema.get("description", "").partition("Range: ")[2]
    return {unit: (float(low), float(high)) for low, high, unit in _RANGE.findall(text)}


def _bare(schema: Any) -> Any:
    """Take the words out of a schema."""
    if isinstance(schema, Mapping):
        return {
            name: _bare(one)
            for name, one in schema.items()
            # A member may have such a name; its schema is no text.
            if not (name in _WORDS and (isinstance(one, str) or name.startswith("example")))
        }
    return [_bare(one) for one in schema] if isinstance(schema, list) else schema


def shape(document: Any) -> Any:
    """Give what a document says, without its words and its version."""
    return _bare({name: document[name] for name in ("paths", "components", "security")})
