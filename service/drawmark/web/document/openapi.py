"""The OpenAPI document, generated from the schemas."""

from __future__ import annotations

from typing import Any, Final

import msgspec
from apispec import APISpec
from apispec.core import Components
from apispec.ext.marshmallow import MarshmallowPlugin

from drawmark.web.batch.shared_operations import SharedOperations
from drawmark.web.document import document_components
from drawmark.web.document.answer_schemas import Schema, ref, schema_of
from drawmark.web.document.batch_answer import Problem
from drawmark.web.document.choice_components import name_choices
from drawmark.web.document.examples.answers import read_answers
from drawmark.web.document.field_dependencies import state_dependencies
from drawmark.web.document.listings import LISTINGS
from drawmark.web.document.paths import get_of, post_of
from drawmark.web.document.quantity_components import attributes_of, quantity_of
from drawmark.web.wire.installed_rules import Rules, component_of
from drawmark.web.wire.operation import LONGEST_RULE_SET
from drawmark.web.wire.quantity_field import COMPONENTS

VERSION: Final = "1.0.0"
"""The document's own, apart from the service's: `service/docs/versions.md` says when it grows."""
_PLUGINS: Final = "x-plugin-components"
_RULE_SET: Final = "RuleSetName"
_TOKEN: Final = {
    "type": "http",
    "scheme": "bearer",
    "description": "Needed if the service was started with a file of tokens.",
}
_DESCRIPTION: Final = (
    "Arrow length, safety, stiffness and balance. The version is this document's own; answers name "
    "the service's in `engine`. The range's rules, the makers' limits and a "
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
    schemas[_RULE_SET].pop("enum", None)
    return document


def document_of(rules: Rules, shared: SharedOperations | None = None) -> dict[str, Any]:
    """Generate the document of a service for callers who see these rules."""
    operations = tuple((shared or SharedOperations([rules])).of(rules).values())
    plugin = MarshmallowPlugin(
        schema_name_resolver=lambda schema: _class(schema).__name__.removesuffix("Schema")
    )
    spec = APISpec(
        title="Drawmark",
        version=VERSION,
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
        spec.components.schema(name, quantity_of(dimension))
    _share(spec.components)
    answers = read_answers()
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
    state_dependencies(schemas, operations)
    _name_rule_sets(schemas, rules)
    # Plugins' components come last: the core's names are the same without them.
    inputs = sorted(component_of(name, "Inputs") for name in rules.inputs)
    name_choices(schemas, [name for name in sorted(schemas) if name not in inputs])
    if inputs:
        document[_PLUGINS] = sorted([*inputs, *name_choices(schemas, inputs)])
    return document


def _name_rule_sets(schemas: dict[str, Schema], rules: Rules) -> None:
    """Let every member that names a rule set refer to one component."""
    for schema in schemas.values():
        named = schema.get("properties", {}).get("ruleset")
        if named:
            schema["properties"]["ruleset"] = {
                "description": named["description"],
                **ref(_RULE_SET),
            }
    names = sorted(rules.configuration.rulesets)
    schemas[_RULE_SET] = {
        "type": "string",
        "maxLength": LONGEST_RULE_SET,
        **({"enum": names} if names else {}),
        "description": "Name of a rule set of the club.",
    }


def _share(components: Components) -> None:
    for name, component in document_components.HEADERS.items():
        components.header(name, component)
    for name, component in document_components.PARAMETERS.items():
        components.parameter(name, "header", component)
    for name, component in document_components.PROBLEMS.items():
        components.response(name, component)


def _class(schema: Any) -> type:
    return schema if isinstance(schema, type) else type(schema)
