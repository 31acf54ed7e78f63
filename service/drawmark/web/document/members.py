"""Members of what is sent and answered, as rows of a table, from the document's own schemas."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

Schema = Mapping[str, Any]
_ELSE: Final = "x-else"
_BESIDE: Final = "x-beside"
_KINDS: Final = {
    "array": "list",
    "boolean": "true or false",
    "integer": "whole number",
    "string": "text",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Member:
    """One member of an object.

    Parameters
    ----------
    depth : int
        How many objects it is in.
    name : str
        Its name, with brackets behind it where it is a list.
    kind : str
        What it, or each item of it, is; of a quantity its dimension.
    needed : str
        Whether it must be there: "always", or a condition.
    meaning : str
        What it means.
    limits : str
        Which values it may have.
    """

    depth: int
    name: str
    kind: str
    needed: str
    meaning: str
    limits: str


def members_of(
    schema: Schema, components: Mapping[str, Schema], depth: int = 0, asked: Iterable[Schema] = ()
) -> Iterator[Member]:
    """List the members of a schema, each followed by its own."""
    shape = _meant(schema, components)
    rules = [*_flat(shape), *asked]
    for name, member in shape.get("properties", {}).items():
        items = member.get("items")
        single = member if items is None else items
        inner = _meant(single, components)
        meaning, _, ranges = member.get("description", "").partition("Range: ")
        if items is not None and not ranges:
            ranges = items.get("description", "").partition("Range: ")[2]
        yield Member(
            depth=depth,
            name=name if items is None else f"{name}[]",
            kind=kind_of(single, components),
            needed="; ".join(_conditions(name, rules)),
            meaning=meaning.strip(),
            limits=" ".join((*_limits(member, inner), *filter(None, [ranges]))),
        )
        if not is_quantity(inner):
            inside = _inside(rules, name) if items is None else ()
            yield from members_of(single, components, depth + 1, inside)


def is_quantity(schema: Schema) -> bool:
    """Tell whether a schema is that of a figure with its unit."""
    return set(schema.get("properties", ())) == {"value", "unit"}


def dimension_of(component: str) -> str:
    """Give the dimension of a quantity by the name of its component: MassPerLength."""
    return "".join(f" {sign.lower()}" if sign.isupper() else sign for sign in component).strip()


def kind_of(schema: Schema, components: Mapping[str, Schema]) -> str:
    """Name the kind of a value."""
    if "anyOf" in schema:
        return "number or quantity"
    meant = _meant(schema, components)
    if is_quantity(meant):
        return dimension_of(_component(schema))
    kind = str(meant.get("type", "object"))
    return _KINDS.get(kind, kind)


def _component(schema: Schema) -> str:
    return str(schema["$ref"].rpartition("/")[2])


def _meant(schema: Schema, components: Mapping[str, Schema]) -> Schema:
    return components[_component(schema)] if "$ref" in schema else schema


def _flat(rule: Schema) -> Iterator[Schema]:
    """Give a rule on an object as rules that each ask one thing."""
    yield rule
    for part in rule.get("allOf", ()):
        yield from _flat(part)
    for beside, asked in rule.get("dependentSchemas", {}).items():
        yield {**asked, _BESIDE: beside}
    if "not" in rule.get("if", ()):
        yield {"anyOf": [rule["if"]["not"], rule["then"]]}


def _inside(rules: Iterable[Schema], name: str) -> Iterator[Schema]:
    """Give what rules on an object ask of one of its members; not what its own schema says."""
    for rule in rules:
        inner = rule.get("properties", {}).get(name)
        if inner and "additionalProperties" not in rule:
            beside = rule.get(_BESIDE, name)
            if beside == name:
                yield from _flat(inner)
            else:
                yield {"required": inner.get("required", ()), _BESIDE: beside}
        ways = [_way_inside(way, name) for way in rule.get("anyOf", ())]
        if ways:
            yield {"anyOf": [one for way in ways for one in way.get("anyOf", [way])]}


def _way_inside(way: Schema, name: str) -> Schema:
    """Give what one of several ways asks of a member, or by what else it meets the need."""
    if name in way.get("required", ()):
        inner: Schema = way.get("properties", {}).get(name, {})
        return inner
    return {_ELSE: way.get(_ELSE) or way.get("required", ())}


def _conditions(name: str, rules: Sequence[Schema]) -> Iterator[str]:
    """Say when a member must be there, and what must not be beside it."""
    others: list[str] = []
    for rule in rules:
        if name in rule.get("required", ()) and _BESIDE not in rule:
            yield "always"
            return
        ways = [way.get("required", ()) for way in rule.get("anyOf", ())]
        if ways and all(name in way for way in ways):
            yield "always"
            return
        if any(name in way for way in ways):
            ways += [way.get(_ELSE, ()) for way in rule["anyOf"]]
            rest = dict.fromkeys(one for way in ways for one in way if one != name)
            others.append(" or ".join(rest))
    if any(others):
        yield "unless " + " and ".join(dict.fromkeys(filter(None, others)))
    beside = [
        other
        for rule in rules
        for other, needed in rule.get("dependentRequired", {}).items()
        if name in needed
    ]
    excluded = []
    for rule in filter(lambda one: _BESIDE in one, rules):
        other = rule[_BESIDE]
        barred = [one for one, shape in rule.get("properties", {}).items() if shape is False]
        if name in rule.get("required", ()):
            beside.append(other)
        if name in barred:
            excluded.append(other)
        if name == other:
            excluded += barred
    if beside:
        yield "with " + " or ".join(beside)
    if excluded:
        yield "not with " + " or ".join(excluded)


def _limits(member: Schema, single: Schema) -> Iterator[str]:
    if "enum" in single:
        yield "One of " + ", ".join(f"`{word}`" for word in single["enum"]) + "."
    if "const" in single:
        yield f"`{single['const']}`."
    if "default" in member:
        yield f"Else `{str(member['default']).lower()}`."
    if "minimum" in single:
        yield f"{single['minimum']:,} to {single['maximum']:,}."
    if "maxLength" in single:
        yield f"At most {single['maxLength']} characters."
    if "maxItems" in member:
        yield f"{member['minItems']:,} to {member['maxItems']:,} items."
