"""What the core's document says of requests and answers."""

from __future__ import annotations

from jsonschema import Draft202012Validator

from drawmark.web.document.openapi import document_of
from drawmark.web.document.responses import NAMES
from drawmark.web.wire.installed_rules import core_rules

DOCUMENT = document_of(core_rules())


def schema_of_request(path):
    content = DOCUMENT["paths"][f"/v1/{path}"]["post"]["requestBody"]["content"]
    return Draft202012Validator(
        {**content["application/json"]["schema"], "components": DOCUMENT["components"]}
    )


def validate(path, answer):
    """Hold an answer to the schema that the document states."""
    schema = {
        "$ref": f"#/components/schemas/{NAMES[path]}",
        "components": DOCUMENT["components"],
    }
    Draft202012Validator(schema).validate(answer)
