"""The document is valid, committed, and the live one differs only by what is installed."""

from __future__ import annotations

from pathlib import Path

from openapi_spec_validator import validate

from drawmark.rules import registry, rulesets
from drawmark.web.installed import Rules, core_rules
from drawmark.web.openapi import document_of, encode_document, stripped

COMMITTED = Path(__file__).parents[2] / "openapi" / "drawmark.json"


def live_rules():
    found = registry.load()
    return Rules(registry=found, configuration=rulesets.configure(found, None))


def test_committed_document_is_what_the_core_generates():
    assert COMMITTED.read_bytes() == encode_document(stripped(document_of(core_rules())))


def test_live_document_without_plugins_members_is_the_committed_one():
    assert encode_document(stripped(document_of(live_rules()))) == COMMITTED.read_bytes()


def test_document_is_valid():
    validate(document_of(live_rules()))
