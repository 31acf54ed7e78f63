"""The OpenAPI document, generated from the schemas."""

from __future__ import annotations

from typing import Any, Final

import msgspec
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin

from drawmark import __version__
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules.registry import Registry
from drawmark.rules.rulesets import Configuration, everything
from drawmark.web import responses
from drawmark.web.batch import MOST_ITEMS
from drawmark.web.calculations import BATCH_PATH, batch_item, operations_of
from drawmark.web.catalogue import CATALOGUES
from drawmark.web.examples import EXAMPLES
from drawmark.web.fields import COMPONENTS, Choice, Flag, Number, Quantity, Text, Whole
from drawmark.web.operation import Operation, Rules

# Widest ranges of the wire in SI; each field states its own in its description.
WIDEST: Final = {
    "length": (-0.5, 3.0),
    "mass": (0.0, 1.0),
    "force": (0.0, 2000.0),
    "mass_per_length": (0.0005, 0.1),
    "frequency": (0.0, 1e5),
    "static_spine": (0.5, 50.0),
}
_SUMMARIES: Final = {
    "minimum-length": "How short is too short to be safe.",
    "recommended-length": "How long the arrow should be, and whether to cut.",
    "longest-draw": "How far a given arrow may be drawn.",
    "spine": "What a cut or another point does to the arrow's stiffness.",
    "balance": "Mass, balance point and front of centre.",
    "fit-check": "May this archer safely shoot these arrows from this bow?",
}


def core_rules() -> Rules:
    """Give the core's own rules alone, whatever else is installed."""
    from drawmark.rules import registry

    found = Registry(plugins=tuple(one for one in registry.load().plugins if one.name == "core"))
    ruleset = everything(found)
    return Rules(
        registry=found,
        configuration=Configuration(rulesets={ruleset.name: ruleset}, default=ruleset.name),
    )


def encode_document(document: dict[str, Any]) -> bytes:
    """Encode a document with sorted keys, one line a member."""
    return msgspec.json.format(msgspec.json.encode(document, order="sorted"), indent=1) + b"\n"


def stripped(document: dict[str, Any]) -> dict[str, Any]:
    """Take plugins' members and rule-set names out of a live document."""
    schemas = document["components"]["schemas"]
    for name in document.pop("x-plugin-components", []):
        schemas.pop(name, None)
    schemas["Local"].pop("properties", None)
    schemas["Local"]["properties"] = {}
    for schema in schemas.values():
        ruleset = schema.get("properties", {}).get("ruleset")
        if ruleset is not None:
            ruleset.pop("enum", None)
    return document


def document_of(rules: Rules) -> dict[str, Any]:
    """Generate the document of a service.

    Parameters
    ----------
    rules : Rules
        Plugins and rule sets, whose inputs and names it shows.

    Returns
    -------
    dict
        OpenAPI 3.1 document.
    """
    plugin = MarshmallowPlugin(
        schema_name_resolver=lambda schema: _class(schema).__name__.removesuffix("Schema")
    )
    spec = APISpec(
        title="Drawmark",
        version=__version__,
        openapi_version="3.1.0",
        plugins=[plugin],
        info={
            "description": "Arrow length, safety, stiffness and balance. The range's rules, the "
            "makers' limits and a qualified coach come first.",
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        servers=[{"url": "/"}],
    )
    plugin.converter.add_attribute_function(_attributes)  # type: ignore[union-attr]
    for dimension, name in COMPONENTS.items():
        if dimension != "frequency":
            spec.components.schema(name, _quantity(dimension, True))
        spec.components.schema(f"Reported{name}", _quantity(dimension, False))
    for name, component in responses.COMPONENTS.items():
        spec.components.schema(name, component)
    for operation in operations_of(rules):
        _add(spec, operation, rules)
    _add_batch(spec, rules)
    for name in CATALOGUES:
        spec.path(f"/v1/{name}", operations={"get": _get(f"List of {name}.", name)})
    for name, summary in (
        ("healthz", "The process is alive."),
        ("readyz", "Every required plugin is active."),
        ("openapi.json", "This document."),
    ):
        spec.path(f"/{name}", operations={"get": _get(summary, None, name == "readyz")})
    document = spec.to_dict()
    names = sorted(rules.configuration.rulesets)
    schemas = document["components"]["schemas"]
    for operation in (*operations_of(rules), batch_item(rules)):
        if operation.uses_rules and rules.configuration is not None:
            schemas[operation.name]["properties"]["ruleset"]["enum"] = names
    if rules.inputs:
        document["x-plugin-components"] = sorted(
            name for name in schemas if any(name == _inputs_name(one) for one in rules.inputs)
        )
    return document


def _inputs_name(plugin: str) -> str:
    from drawmark.web.operation import component_of

    return component_of(plugin, "Inputs")


def _class(schema: Any) -> type:
    return schema if isinstance(schema, type) else type(schema)


def _attributes(self: Any, field: Any, **kwargs: Any) -> dict[str, Any]:
    if isinstance(field, Quantity):
        ranges = "; ".join(
            f"{low:g} to {high:g} {unit}" for unit, (low, high) in field.ranges.items()
        )
        text = field.metadata.get("description", "")
        return {
            "$ref": f"#/components/schemas/{COMPONENTS[field.dimension]}",
            "description": f"{text} Range: {ranges}.".strip(),
        }
    if isinstance(field, Whole):
        return {
            "type": "integer",
            "minimum": int(field.spec.low),
            "maximum": int(field.spec.high),
        }
    if isinstance(field, Number):
        return {"type": "number", "minimum": field.spec.low, "maximum": field.spec.high}
    if isinstance(field, Choice):
        return {"type": "string", "enum": list(field.choices)}
    if isinstance(field, Flag):
        return {"type": "boolean"}
    if isinstance(field, Text):
        return {"type": "string", "maxLength": field.longest}
    return {}


def _quantity(dimension: Any, bounded: bool) -> dict[str, Any]:
    units = DIMENSIONS[dimension]
    value: dict[str, Any] = {"type": "number"}
    if bounded:
        low, high = WIDEST[dimension]
        ends = [float(f"{unit.from_si(end):.6g}") for unit in units for end in (low, high) if end]
        value |= {"minimum": min([*ends, 0.0]) if low <= 0 else min(ends), "maximum": max(ends)}
    return {
        "type": "object",
        "properties": {
            "value": value,
            "unit": {"type": "string", "enum": [unit.symbol for unit in units]},
        },
        "required": ["value", "unit"],
        "additionalProperties": False,
        "description": "A figure with its unit; the exact range stands with each field.",
    }


def _needs(ways: str) -> dict[str, Any]:
    def nest(path: list[str]) -> dict[str, Any]:
        inner: dict[str, Any] = {"type": "object", "required": [path[0]]}
        if len(path) > 1:
            inner["properties"] = {path[0]: nest(path[1:])}
        return inner

    choices = [nest(way.split(".")) for way in ways.split("|")]
    return choices[0] if len(choices) == 1 else {"anyOf": choices}


def _add(spec: APISpec, operation: Operation, rules: Rules) -> None:
    spec.components.schema(operation.name, schema=operation.schema)
    body = {
        "allOf": [
            {"$ref": f"#/components/schemas/{operation.name}"},
            *(_needs(need) for need in operation.module.NEEDS),
        ]
    }
    spec.path(
        f"/v1/{operation.path}",
        operations={
            "post": _post(
                operation.path,
                _SUMMARIES[operation.path],
                body,
                {"$ref": f"#/components/schemas/{responses.NAMES[operation.path]}"},
            )
        },
    )


def _add_batch(spec: APISpec, rules: Rules) -> None:
    item = batch_item(rules)
    spec.components.schema(item.name, schema=item.schema)
    body = {
        "type": "object",
        "required": ["items"],
        "additionalProperties": False,
        "properties": {
            "items": {
                "type": "array",
                "minItems": 1,
                "maxItems": MOST_ITEMS,
                "items": {"$ref": f"#/components/schemas/{item.name}"},
            }
        },
    }
    spec.path(
        f"/v1/{BATCH_PATH}",
        operations={
            "post": _post(
                BATCH_PATH,
                "Many fit checks in one request.",
                body,
                {"$ref": f"#/components/schemas/{responses.NAMES[BATCH_PATH]}"},
            )
        },
    )


def _post(path: str, summary: str, body: dict[str, Any], result: dict[str, Any]) -> dict[str, Any]:
    return {
        "operationId": path.replace("/", "-"),
        "summary": summary,
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": body, "example": EXAMPLES[path]}},
        },
        "responses": {
            "200": {
                "description": "The answer.",
                "content": {"application/json": {"schema": result}},
            },
            **{
                str(status): _problem(text)
                for status, text in (
                    (400, "The body is not JSON or was cut off."),
                    (413, "The body is too large."),
                    (415, "The body is not application/json."),
                    (422, "Fields are missing, unknown, out of range or cannot stand together."),
                )
            },
            "default": _problem("Any other problem."),
        },
    }


def _problem(text: str) -> dict[str, Any]:
    return {
        "description": text,
        "content": {
            "application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}
        },
    }


def _get(summary: str, listed: str | None, may_fail: bool = False) -> dict[str, Any]:
    schema: dict[str, Any] = {"type": "object"}
    if listed:
        schema |= {
            "required": [listed],
            "properties": {listed: {"type": "array", "items": {"type": "object"}}},
        }
    answers = {
        "200": {"description": summary, "content": {"application/json": {"schema": schema}}},
        "default": _problem("Any problem."),
    }
    if may_fail:
        answers["503"] = _problem("A required plugin is not active.")
    return {"summary": summary, "responses": answers}
