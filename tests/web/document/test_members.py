"""Members of a schema as rows: what is needed when, of what kind, within which limits."""

from __future__ import annotations

import pytest

from drawmark.web.document.examples import EXAMPLES
from drawmark.web.document.members import members_of
from drawmark.web.document.openapi import document_of
from drawmark.web.wire.installed_rules import core_rules

DOCUMENT = document_of(core_rules())
COMPONENTS = DOCUMENT["components"]["schemas"]


def by_path(members):
    """Name each member by its path."""
    path, found = [], {}
    for one in members:
        path[one.depth :] = [one.name]
        found[".".join(path)] = one
    return found


def request_of(path):
    content = DOCUMENT["paths"][f"/v1/{path}"]["post"]["requestBody"]["content"]
    return by_path(members_of(content["application/json"]["schema"], COMPONENTS))


def answer_of(path):
    content = DOCUMENT["paths"][f"/v1/{path}"]["post"]["responses"]["200"]["content"]
    return by_path(members_of(content["application/json"]["schema"], COMPONENTS))


@pytest.mark.parametrize(
    ("path", "member", "needed"),
    [
        pytest.param("fit-check", "bow.kind", "always", id="of its part"),
        pytest.param("fit-check", "arrow.length", "always", id="of the operation"),
        pytest.param("minimum-length", "arrow.length", "", id="of another operation"),
        pytest.param("fit-check", "archer", "always", id="whichever way"),
        pytest.param("fit-check", "archer.arm_span", "unless draw_length or draws", id="one of"),
        pytest.param(
            "fit-check",
            "archer.draw_length",
            "unless draws or arm_span; not with draws",
            id="one of, and not two",
        ),
        pytest.param(
            "fit-check",
            "archer.draw_length_convention",
            "with draw_length or draws",
            id="beside others",
        ),
        pytest.param("balance", "arrow.balance_point", "unless shaft and point", id="two needs"),
        pytest.param("balance", "arrow.point.mass", "unless balance_point", id="within one of"),
        pytest.param("balance", "arrow.fletching.mass", "", id="left free"),
        pytest.param("balance", "arrow.fletching.length", "with mass", id="within a part"),
        pytest.param("kit/labels", "sets[].arrow.length", "always", id="of each item"),
        pytest.param("order", "sets[].wanted_length", "unless archer", id="one of, of each item"),
        pytest.param(
            "order",
            "sets[].archer.arm_span",
            "unless draw_length or draws",
            id="one of, in a part",
        ),
        pytest.param("fit-check/batch", "items[].arrow.length", "always", id="of a batch"),
    ],
)
def test_needed(path, member, needed):
    assert request_of(path)[member].needed == needed


@pytest.mark.parametrize(
    ("member", "kind", "limits"),
    [
        pytest.param("archer.draw_length", "length", "300 to 1100 mm; ", id="quantity"),
        pytest.param("archer.draws[]", "length", "1 to 100 items. 300 to 1100 mm; ", id="list"),
        pytest.param("archer.draw_count", "whole number", "2 to 100,000.", id="whole number"),
        pytest.param("archer.coach_checked", "true or false", "Else `false`.", id="flag"),
        pytest.param("bow.draw_weight_basis", "text", "One of `own_draw`, `at_28`.", id="choice"),
        pytest.param("ruleset", "text", "One of `default`. At most 64 characters.", id="text"),
        pytest.param("arrow.shaft.mass_per_length", "mass per length", "1 to 80 g/m; ", id="two"),
        pytest.param("archer", "object", "", id="part"),
    ],
)
def test_kind_and_limits(member, kind, limits):
    found = request_of("fit-check")[member]
    assert found.kind == kind
    assert found.limits.startswith(limits) if limits else found.limits == ""
    assert found.meaning
    assert "Range" not in found.meaning


@pytest.mark.parametrize(
    ("member", "kind", "given"),
    [
        ("verdict", "text", "always"),
        ("minimum", "length", ""),
        ("findings[].measured", "number or quantity", ""),
        ("not_checked[].fields[]", "text", "always"),
    ],
)
def test_answer(member, kind, given):
    found = answer_of("fit-check")[member]
    assert (found.kind, found.needed) == (kind, given)


def paths_in(value, above=""):
    if isinstance(value, dict) and value.keys() != {"value", "unit"}:
        for name, inner in value.items():
            path = f"{above}.{name}".removeprefix(".")
            if isinstance(inner, list):
                yield f"{path}[]"
                for one in inner:
                    yield from paths_in(one, f"{path}[]")
            else:
                yield path
                yield from paths_in(inner, path)


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_examples_have_no_other_members(path):
    responses = DOCUMENT["paths"][f"/v1/{path}"]["post"]["responses"]
    answer = responses["200"]["content"]["application/json"]["example"]
    assert set(paths_in(EXAMPLES[path])) <= set(request_of(path))
    assert set(paths_in(answer)) <= set(answer_of(path))


def test_what_every_example_has_is_what_is_said_to_be_there():
    for path, example in EXAMPLES.items():
        given = set(paths_in(example))
        for name, member in request_of(path).items():
            above = name.rpartition(".")[0]
            if member.needed == "always" and (not above or above in given):
                assert name in given, (path, name)
