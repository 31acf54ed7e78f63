"""The OpenAPI document, generated from the schemas."""

from __future__ import annotations

from typing import Any, Final

import msgspec
from apispec import APISpec
from apispec.core import Components
from apispec.ext.marshmallow import MarshmallowPlugin

from drawmark import __version__
from drawmark.web.batch.definition import batch_item
from drawmark.web.document import document_components
from drawmark.web.document.answer_schemas import Schema, schema_of
from drawmark.web.document.batch_answer import Problem
from drawmark.web.document.examples.answers import read_answers
from drawmark.web.document.listings import LISTINGS
from drawmark.web.document.paths import get_of, post_of
from drawmark.web.document.quantity_components import attributes_of, quantity_of
from drawmark.web.wire.installed_rules import Rules, component_of
from drawmark.web.wire.operations import operations_of
from drawmark.web.wire.wire_fields import COMPONENTS

_PLUGINS: Final = "x-plugin-components"
_TOKEN: Final = {
    "type": "http",
    "scheme": "bearer",
    "description": "Needed if the service was started with a file of tokens.",
}
_DESCRIPTION: Final = (
    "Arrow length, safety, stiffness and balance. The range's rules, the makers' limits and a "
    "qualified coach come first. Answers are JSON, unless Accept prefers another type that the "
    "operation offers. Problems are always application/problem+json. A name that is "
    "repeated in an object is refused with 400; in a batch the last value wins."
)


def encode_document(document: dict[str, Any]) -> bytes:
    """Encode a document with sorted keys, one line a member."""
    return msgspec.json.format(msgspec.json.encode(document, order="sorted"), indent=1) + b"\n"


def stripped(document: dict[str, Any]) -> dict[str, Any]:
    """Take plugins' members and rule-set names out of a live document."""
    schemas = document["components"]["schemas"]
    for name in document.pop(_PLUGINS, []):
        schemas.pop(name, None)
    schemas["Local"]["properties"] = {}
    for schema in schemas.values():
        schema.get("properties", {}).get("ruleset", {}).pop("enum", None)
    return document


def document_of(rules: Rules) -> dict[str, Any]:
    """Generate the document of a service."""
    plugin = MarshmallowPlugin(
        schema_name_resolver=lambda schema: _class(schema).__name__.removesuffix("Schema")
    )
    spec = APISpec(
        title="Drawmark",
        version=__version__,
        openapi_version="3.1.0",
        plugins=[plugin],
        info={
            "description": _DESCRIPTION,
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        servers=[{"url": "/"}],
        # Whether tokens are asked for is the server's to set: stated as a choice, the document is
        # the same for both.
        security=[{}, {"token": []}],
    )
    spec.components.security_scheme("token", _TOKEN)
    plugin.converter.add_attribute_function(attributes_of)  # type: ignore[union-attr]
    for dimension, name in COMPONENTS.items():
        if dimension != "frequency":
            spec.components.schema(name, quantity_of(dimension, bounded=True))
        spec.components.schema(f"Reported{name}", quantity_of(dimension, bounded=False))
    _share(spec.components)
    answers = read_answers()
    operations = (*operations_of(rules), batch_item(rules))
    components: dict[str, Schema] = {}
    schema_of(Problem, components)
    for operation in operations:
        path = operation.path
        spec.components.schema(operation.name, schema=operation.schema)
        described = post_of(operation, answers.get(path, {}), components)
        spec.path(f"/v1/{path}", operations={"post": described})
    for name, listing in LISTINGS.items():
        spec.path(listing.path, operations={"get": get_of(name, listing, components)})
    for name, component in components.items():
        spec.components.schema(name, component)
    document = spec.to_dict()
    schemas = document["components"]["schemas"]
    for operation in operations:
        if operation.uses_rules:
            names = sorted(rules.configuration.rulesets)
            schemas[operation.name]["properties"]["ruleset"]["enum"] = names
    if rules.inputs:
        document[_PLUGINS] = sorted(component_of(name, "Inputs") for name in rules.inputs)
    return document


def _share(components: Components) -> None:
    for name, component in document_components.HEADERS.items():
        components.header(name, component)
    for name, component in document_components.PARAMETERS.items():
        components.parameter(name, "header", component)
    for name, component in document_components.PROBLEMS.items():
        components.response(name, component)


def _class(schema: Any) -> type:
    return schema if isinstance(schema, type) else type(schema)
