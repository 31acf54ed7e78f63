"""The live service of a club with both plugins and two rule sets: document, catalogue, fuzz."""

import json
from pathlib import Path

import pytest
import requests
import schemathesis
from hypothesis import given
from schemathesis import GenerationMode

from drawmark.web.document.examples import EXAMPLES
from drawmark.web.document.openapi import encode_document, stripped
from drawmark.web.wire.installed_rules import installed_rules
from drawmark.web.wire.operations import operations_of
from properties.fuzzing import bounded, call_and_check, cases
from servers import service

pytestmark = pytest.mark.hypothesis

COMMITTED = Path(__file__).parents[2] / "openapi" / "drawmark.json"
CLUB = """
default = "evening"

[rulesets.evening]
title = "Beginners' evening"
plugins = ["club-minimums"]
required = ["club-minimums", "club-minimums/draw-weight"]

[rulesets.evening.settings.club-minimums]
minimum_length = "28 in"
margin_beyond_draw = "2 in"
greatest_draw_weight = "24 lbf"
least_grains_per_pound = 8.0

[rulesets.squad]
title = "The squad, with draw-check aids"
plugins = ["clicker-clearance", "club-minimums"]
required = ["clicker-clearance"]

[rulesets.squad.settings.clicker-clearance]
from_rest = "25 mm"
"""
SETS = ["evening", "squad"]
OPERATIONS = [one for one in operations_of(installed_rules()) if one.uses_rules]
MODES = (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)


@pytest.fixture(scope="module")
def url(tmp_path_factory):
    folder = tmp_path_factory.mktemp("club")
    file = folder / "club.toml"
    file.write_text(CLUB)
    running = service(folder, DRAWMARK_CONFIG=str(file))
    try:
        running.start()
        yield f"http://127.0.0.1:{running.port}"
    finally:
        running.end()


@pytest.fixture(scope="module")
def document(url):
    return requests.get(f"{url}/openapi.json", timeout=10).content


def fit(**more):
    return {**EXAMPLES["fit-check"], **more}


def ask(url, body):
    return requests.post(f"{url}/v1/fit-check", json=body, timeout=10)


def test_document_shows_the_plugins_inputs_and_the_rule_sets(document):
    schemas = json.loads(document)["components"]["schemas"]
    assert list(schemas["Local"]["properties"]) == ["clicker-clearance", "junior-growth"]
    assert "position" in schemas["ClickerClearanceInputs"]["properties"]
    taking = [
        schemas[schema["properties"]["ruleset"]["$ref"].rpartition("/")[2]]["enum"]
        for name, schema in schemas.items()
        if name.endswith(("Request", "Item")) and "ruleset" in schema.get("properties", {})
    ]
    assert len(taking) >= len(OPERATIONS)
    assert all(names == SETS for names in taking)


def test_without_them_it_is_the_committed_document(document):
    assert encode_document(stripped(json.loads(document))) == COMMITTED.read_bytes()


@pytest.mark.parametrize(
    ("chosen", "applied", "ruleset"),
    [
        ({}, ["core", "club-minimums"], "evening"),
        ({"ruleset": "evening"}, ["core", "club-minimums"], "evening"),
        ({"ruleset": "squad"}, ["core", "clicker-clearance"], "squad"),
    ],
)
def test_a_request_picks_its_rule_set(url, chosen, applied, ruleset):
    answer = ask(url, fit(**chosen)).json()
    assert [one["plugin"] for one in answer["rules_applied"]] == applied
    assert answer["ruleset"] == ruleset
    # 32 lbf is above the evening's 24.
    broken = {one["rule"] for one in answer["findings"] if one["plugin"] == "club-minimums"}
    assert ("draw-weight" in broken) == (ruleset == "evening")


def test_an_unknown_rule_set_is_refused_with_those_that_exist(url):
    reply = ask(url, fit(ruleset="nobodys"))
    assert reply.status_code == 422
    (error,) = reply.json()["errors"]
    assert error["pointer"] == "#/ruleset"
    assert "evening, squad" in error["detail"]


def test_catalogue_tells_settings_in_familiar_units(url):
    listed = requests.get(f"{url}/v1/rulesets", timeout=10).json()["rulesets"]
    assert [(one["ruleset"], one["default"]) for one in listed] == [
        ("evening", True),
        ("squad", False),
    ]
    (minimums,) = [one for one in listed[0]["plugins"] if one["plugin"] == "club-minimums"]
    assert minimums["settings"]["minimum_length"] == "711.2 mm = 28 in"


def test_a_required_field_that_is_missing_lets_nothing_pass(url):
    body = fit(ruleset="evening")
    body["bow"] = {"kind": "recurve"}
    answer = ask(url, body).json()
    assert answer["verdict"] == "indeterminate"
    assert "draw-weight" in {one.get("rule") for one in answer["not_checked"]}


@pytest.fixture(scope="module")
def operations(url):
    schema = schemathesis.openapi.from_url(f"{url}/openapi.json")
    return {one.ok().path: one.ok() for one in schema.get_all_operations()}


@pytest.mark.long
@pytest.mark.parametrize("ruleset", SETS)
@pytest.mark.parametrize("mode", MODES, ids=lambda mode: mode.value)
@pytest.mark.parametrize("path", sorted([f"/v1/{one.path}" for one in OPERATIONS]))
def test_nothing_is_found(operations, path, mode, ruleset):
    @bounded(8, 32)
    @given(case=cases(operations[path], mode))
    def fuzz(case):
        if mode == GenerationMode.POSITIVE:
            case.body["ruleset"] = ruleset
        call_and_check(case, path)

    fuzz()
