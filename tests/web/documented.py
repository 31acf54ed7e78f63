"""What the core's document says of requests and answers."""

from __future__ import annotations

from jsonschema import Draft202012Validator

from drawmark.web.document.openapi import document_of
from drawmark.web.wire.installed_rules import core_rules

DOCUMENT = document_of(core_rules())


def schema_of_request(path):
    """The schema of an operation's request, with all that it refers to."""
    content = DOCUMENT["paths"][f"/v1/{path}"]["post"]["requestBody"]["content"]
    return _validator(content, DOCUMENT)


def answer_schema(document, path, method="post"):
    """The schema of an operation's answer, with all that it refers to."""
    return _validator(document["paths"][path][method]["responses"]["200"]["content"], document)


def validate(path, answer):
    """Hold an answer to the schema that the document states."""
    answer_schema(DOCUMENT, f"/v1/{path}").validate(answer)


def _validator(content, document):
    schema = content["application/json"]["schema"]
    return Draft202012Validator({**schema, "components": document["components"]})
