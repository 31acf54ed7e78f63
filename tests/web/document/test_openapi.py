"""The document is valid, committed, true, and the live one differs only by what is installed."""

from __future__ import annotations

import copy
import math
import re
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from openapi_spec_validator import validate

from builders.wire import q
from drawmark.fitting.units import DIMENSIONS
from drawmark.web.document.answer_schemas import answer_of, schema_of
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.document.examples.answers import ask_all, read_answers
from drawmark.web.document.examples.problems import REFUSED
from drawmark.web.document.examples.readings import EXAMPLES as READINGS
from drawmark.web.document.listings import LISTINGS
from drawmark.web.document.openapi import document_of, encode_document, stripped
from drawmark.web.wire.accept import DRAWN
from drawmark.web.wire.installed_rules import core_rules, installed_rules
from drawmark.web.wire.operations import operations_of
from drawmark.web.wire.quantity_field import COMPONENTS, QuantityField
from drawmark.web.wire.schemas import Strict
from web.documented import DOCUMENT, answer_schema, schema_of_request

COMMITTED = Path(__file__).parents[3] / "openapi" / "drawmark.json"
RULES = core_rules()
LIVE = document_of(installed_rules())


def test_committed_document_is_what_the_core_generates():
    assert COMMITTED.read_bytes() == encode_document(stripped(document_of(core_rules())))


def test_live_document_without_plugins_members_is_the_committed_one():
    assert encode_document(stripped(document_of(installed_rules()))) == COMMITTED.read_bytes()


def test_document_is_valid():
    validate(document_of(installed_rules()))


def test_each_idea_is_one_component():
    numbered = [name for name in DOCUMENT["components"]["schemas"] if re.search(r"\d$", name)]
    assert numbered == []


# What fields ask of each other: members stand there once more, to be held and not to be read.
CONSTRAINTS = ("dependentSchemas", "if", "then", "else")


def undescribed(schema, place):
    if isinstance(schema, dict):
        for name, member in schema.get("properties", {}).items():
            if not member.get("description"):
                yield f"{place}.{name}"
        for name, inner in schema.items():
            if name not in CONSTRAINTS:
                yield from undescribed(inner, f"{place}.{name}")
    elif isinstance(schema, list):
        for inner in schema:
            yield from undescribed(inner, place)


def test_every_member_is_described():
    answers = [
        operation["responses"]
        for methods in DOCUMENT["paths"].values()
        for operation in methods.values()
    ]
    assert list(undescribed([DOCUMENT["components"], answers], "")) == []


def test_every_component_of_answers_is_described():
    components: dict = {}
    for operation in operations_of(RULES):
        schema_of(answer_of(operation), components)
    assert len(components) > len(operations_of(RULES))
    shown = DOCUMENT["components"]["schemas"]
    assert [name for name in components if not shown[name]["description"].endswith(".")] == []


def test_names_of_operations_are_names_in_any_language():
    names = [
        operation["operationId"]
        for methods in DOCUMENT["paths"].values()
        for operation in methods.values()
    ]
    assert len(set(names)) == len(names)
    assert [name for name in names if not re.fullmatch("[a-z]+(-[a-z]+)*", name)] == []


def answered(path):
    return DOCUMENT["paths"][f"/v1/{path}"]["post"]["responses"]


def test_answers_kept_are_those_of_the_core(client):
    # Where this fails, answers changed: `python -m drawmark.web.document.examples` keeps new ones.
    kept, now = read_answers(), ask_all(client)
    assert list(kept) == list(now)
    for path, answers in now.items():
        assert kept[path] == answers, path


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_answer_is_shown_in_every_type_and_fits_its_schema(path):
    content = dict(answered(path)["200"]["content"])
    drawn = {kind: content.pop(kind) for kind in DRAWN.get(path, ())}
    assert all(shown["schema"]["type"] == "string" for shown in drawn.values())
    assert {kind: shown["example"] for kind, shown in content.items()} == read_answers()[path]
    answer_schema(DOCUMENT, f"/v1/{path}").validate(content["application/json"]["example"])


def test_problem_shown_is_what_the_service_says(client):
    response = client.post("/v1/fit-check", json=REFUSED)
    (shown,) = DOCUMENT["components"]["responses"]["Misfit"]["content"].values()
    assert response.get_json() == shown["example"]


@pytest.mark.parametrize(
    ("status", "own"),
    [
        ("200", set()),
        ("401", {"WWW-Authenticate"}),
        ("422", set()),
        ("429", {"Retry-After"}),
        ("503", {"Retry-After"}),
        ("default", set()),
    ],
)
def test_headers_are_stated(status, own):
    components = DOCUMENT["components"]
    for path in EXAMPLES:
        answer = answered(path)[status]
        if "$ref" in answer:
            answer = components["responses"][answer["$ref"].rpartition("/")[2]]
        assert answer["headers"].keys() == {"X-Request-ID"} | own


@pytest.mark.parametrize(
    ("member", "words"),
    [
        ("FitCheckAnswer.verdict", "`stop`.*`indeterminate`.*`caution`.*`pass`"),
        ("FitCheckAnswer.minimum", "`determinate`"),
        ("FitCheckAnswer.minimum_at_least", "place of `minimum`.*may still be unsafe"),
        ("NotChecked.fields", r"`\|`.*any one"),
    ],
)
def test_what_is_easily_mistaken_is_said(member, words):
    component, name = member.split(".")
    member = DOCUMENT["components"]["schemas"][component]["properties"][name]
    assert re.search(words, member["description"])


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_example_fits_what_is_stated(path):
    schema_of_request(path).validate(EXAMPLES[path])


def test_a_first_cut_plan_needs_no_shots(client):
    body = {name: part for name, part in EXAMPLES["cut-plan"].items() if name != "shots"}
    schema_of_request("cut-plan").validate(body)
    assert client.post("/v1/cut-plan", json=body).status_code == 200


def test_every_operation_has_an_example():
    for path, methods in DOCUMENT["paths"].items():
        for method, operation in methods.items():
            shown = operation["requestBody"] if method == "post" else operation["responses"]["200"]
            assert all("example" in one for one in shown["content"].values()), path


def is_part(shown, whole):
    """Tell whether all that is shown stands in the whole: members, and items in their order."""
    if isinstance(shown, dict):
        return all(name in whole and is_part(value, whole[name]) for name, value in shown.items())
    if isinstance(shown, list):
        left = iter(whole)
        return all(any(is_part(one, other) for other in left) for one in shown)
    return shown == whole


@pytest.mark.parametrize("name", sorted(LISTINGS))
def test_example_of_what_is_read_is_part_of_the_answer(client, name):
    listing = LISTINGS[name]
    response = client.get(listing.path)
    assert response.mimetype == listing.media_type
    if response.is_json:
        assert is_part(READINGS[name], response.get_json())
        answer_schema(DOCUMENT, listing.path, "get").validate(READINGS[name])
    else:
        assert READINGS[name] in response.text


# What is taken out of, or put into, the example of a fit check so that it contradicts itself.
CONTRADICTIONS = {
    "draw without its convention": ("archer", {"draw_length_convention": None}),
    "draws beside a draw": ("archer", {"draws": [q(27, "in")]}),
    "variation without its count": ("archer", {"draw_variation": q(5, "mm")}),
    "count without variation": ("archer", {"draw_count": 12}),
    "draw weight without its basis": ("bow", {"draw_weight_basis": None}),
    "basis without draw weight": ("bow", {"draw_weight": None}),
    "vanes with a mass and no place": ("arrow", {"fletching": {"mass": q(10, "gr")}}),
    "no length": ("arrow", {"length": None}),
    "nothing tells the draw": ("archer", {"draw_length": None}),
}


@pytest.mark.parametrize(("part", "changes"), CONTRADICTIONS.values(), ids=CONTRADICTIONS)
def test_what_goes_together_is_stated_and_enforced(client, part, changes):
    body = copy.deepcopy(EXAMPLES["fit-check"])
    for name, value in changes.items():
        if value is None:
            del body[part][name]
        else:
            body[part][name] = value
    assert not schema_of_request("fit-check").is_valid(body)
    assert not schema_of_request("fit-check/batch").is_valid({"items": [body]})
    assert client.post("/v1/fit-check", json=body).status_code == 422


def without_none(value):
    if isinstance(value, dict):
        return {name: without_none(one) for name, one in value.items() if one is not None}
    return [without_none(one) for one in value] if isinstance(value, list) else value


# What is put into an example so that it lacks what goes with it, and what it then lacks.
LACKING = {
    "step": ("spine", {"changes": {}}, "#/changes/length"),
    "basis in a spine": (
        "spine",
        {"bow": {"kind": "other", "draw_weight_basis": "own_draw"}},
        "#/bow/draw_weight",
    ),
    "weight at 28 in": (
        "spine",
        {"bow": {**EXAMPLES["spine"]["bow"], "draw_weight_basis": "at_28"}},
        "#/bow/draw_weight_basis",
    ),
    "spread of mass": (
        "kit/labels",
        {"sets": [{**EXAMPLES["kit/labels"]["sets"][0], "mass_spread": q(1, "gr")}]},
        "#/sets/0/arrow/mass",
    ),
    "bow of an archer": (
        "order",
        {"sets": [{**EXAMPLES["order"]["sets"][2], "archer": EXAMPLES["fit-check"]["archer"]}]},
        "#/sets/0/bow",
    ),
    "growth of a curve": ("fit-check", {"curve_months": 12}, "#/archer/growth_rate"),
    "bow of a replacement": ("replacement", {"bow": None}, "#/bow"),
    "draw of a junior": (
        "kit/labels",
        {"archer": {"draw_length_convention": "standard"}},
        "#/archer/draw_length",
    ),
    "convention of a junior": (
        "kit/labels",
        {"archer": {"draw_length": q(25, "in")}},
        "#/archer/draw_length_convention",
    ),
    "hand beside a side": (
        "cut-plan",
        {"shots": [{**EXAMPLES["cut-plan"]["shots"][0], "side": "left"}]},
        "#/archer/string_hand",
    ),
    "draw of an archer": (
        "order",
        {
            "sets": [
                {
                    **EXAMPLES["order"]["sets"][2],
                    "archer": {"experience": "learning"},
                    "bow": {"kind": "recurve"},
                }
            ]
        },
        "#/sets/0/archer/draw_length",
    ),
    "where shafts land": (
        "cut-plan",
        {"shots": [{**EXAMPLES["cut-plan"]["shots"][0], "offset": None}]},
        "#/shots/0/offset",
    ),
}


@pytest.mark.parametrize(("path", "changes", "pointer"), LACKING.values(), ids=LACKING)
def test_what_is_lacking_is_stated_and_enforced(client, path, changes, pointer):
    body = without_none({**EXAMPLES[path], **changes})
    response = client.post(f"/v1/{path}", json=body)
    assert pointer in [one["pointer"] for one in response.get_json()["errors"]]
    assert response.status_code == 422
    assert not schema_of_request(path).is_valid(body)


@pytest.mark.parametrize(
    "path", [one.path for one in operations_of(RULES) if "archer" in one.schema().fields]
)
def test_two_draws_of_one_archer_are_refused_wherever_one_is_named(client, path):
    body = copy.deepcopy(EXAMPLES[path])
    archer = body.setdefault("archer", {})
    archer |= {
        "draw_length": q(27, "in"),
        "draws": [q(27, "in"), q(28, "in")],
        "draw_length_convention": "standard",
    }
    assert not schema_of_request(path).is_valid(body)
    response = client.post(f"/v1/{path}", json=body)
    assert response.status_code == 422
    assert "#/archer/draws" in [one["pointer"] for one in response.get_json()["errors"]]


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_request_is_a_bare_reference(path):
    content = DOCUMENT["paths"][f"/v1/{path}"]["post"]["requestBody"]["content"]
    assert list(content) == ["application/json"]
    assert list(content["application/json"]["schema"]) == ["$ref"]


def members_with(key):
    """Find members, and items of members, that have a key of a schema."""
    for name, schema in LIVE["components"]["schemas"].items():
        for member, shape in schema.get("properties", {}).items():
            if key in shape.get("items", shape):
                yield f"{name}.{member}"


@pytest.mark.parametrize("key", ["enum", "properties", "additionalProperties", "allOf", "oneOf"])
def test_nothing_that_a_generator_would_have_to_name_stands_within_another(key):
    assert list(members_with(key)) == []


def test_the_same_words_are_one_component():
    words = [
        frozenset(schema["enum"])
        for schema in LIVE["components"]["schemas"].values()
        if "enum" in schema
    ]
    # Hands and sides are two ideas, though both are left or right.
    assert [one for one in words if words.count(one) > 1] == [frozenset({"left", "right"})] * 2


@pytest.mark.parametrize(
    "name",
    [
        "BatchItem",
        "Engine",
        "Problem",
        "RuleApplied",
        "RuleSetName",
        "Status",
        "Unevaluated",
        "Verdict",
        "Window",
    ],
)
def test_what_many_answers_have_is_a_component(name):
    assert name in DOCUMENT["components"]["schemas"]


def quantities_in(schema):
    for name, field in schema().fields.items():
        inner = getattr(field, "inner", field)
        if isinstance(inner, QuantityField):
            yield name, inner
        elif isinstance(getattr(inner, "schema", None), Strict):
            yield from quantities_in(type(inner.schema))


@pytest.mark.parametrize("operation", operations_of(RULES), ids=lambda one: one.path)
def test_exact_range_of_each_unit_stands_beside_each_field(operation):
    for name, field in quantities_in(operation.schema):
        schema = {**field.json_schema, "components": DOCUMENT["components"]}
        for unit, (low, high) in field.ranges.items():
            below, above = math.nextafter(low, -math.inf), math.nextafter(high, math.inf)
            held = {
                value: Draft202012Validator(schema).is_valid(q(value, unit))
                for value in (below, low, high, above)
            }
            assert held == {below: False, low: True, high: True, above: False}, (name, unit)


def test_range_stands_in_the_description():
    field = DOCUMENT["components"]["schemas"]["Archer"]["properties"]["draw_length"]
    # 0.30 m to 1.10 m, an inch being 25.4 mm exactly
    assert "300 to 1100 mm" in field["description"]
    assert "11.811 to 43.3071 in" in field["description"]


def test_every_unit_is_one_of_its_own_quantity():
    schemas = DOCUMENT["components"]["schemas"]
    for dimension, name in COMPONENTS.items():
        units = [unit.symbol for unit in DIMENSIONS[dimension]]
        assert schemas[name]["properties"]["unit"]["$ref"].endswith(f"/{name}Unit")
        assert schemas[f"{name}Unit"]["enum"] == units
