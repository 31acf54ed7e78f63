"""Schemas come out of the declared answers."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal, NotRequired, TypedDict

import msgspec
import pytest

from drawmark.answers.common.answer_types import ArrowLength, Length, Percent
from drawmark.deprecation import Deprecated
from drawmark.rules.model import Measure
from drawmark.web.document.answer_schemas import schema_of

LENGTH = {"$ref": "#/components/schemas/Length"}


class Inner(TypedDict):
    """An inner object."""

    ends: Annotated[Length, "Where it ends."]


class Outer(Inner):
    """An outer object,
    in two lines.
    """

    inner: Annotated[Inner, "What is in it."]
    note: NotRequired[Annotated[str, "A note."]]


@pytest.mark.parametrize(
    ("hint", "schema"),
    [
        (str, {"type": "string"}),
        (int, {"type": "integer"}),
        (bool, {"type": "boolean"}),
        (Percent, {"type": "number"}),
        (Length, LENGTH),
        (Literal["a", "b"], {"type": "string", "enum": ["a", "b"]}),
        (Literal["a"], {"type": "string", "const": "a"}),
        (list[str] | msgspec.Raw, {"type": "array", "items": {"type": "string"}}),
        (dict[str, Any], {"type": "object"}),
        (dict[str, str], {"type": "object", "additionalProperties": {"type": "string"}}),
        (Annotated[ArrowLength, "Here."], {**LENGTH, "description": "Here."}),
        (
            Annotated[str, "Here.", Deprecated(since=date(2027, 3, 1), instead="Use it.")],
            {
                "type": "string",
                "description": "Here. Deprecated since 2027-03-01. Use it.",
                "deprecated": True,
            },
        ),
    ],
)
def test_a_member_is_described_by_its_annotation(hint, schema):
    assert schema_of(hint, {}) == schema


def test_a_figure_of_any_kind_may_be_a_number_or_a_quantity():
    kinds = schema_of(Measure, {})["anyOf"]
    assert {"type": "number"} in kinds
    assert LENGTH in kinds


def test_objects_become_components_that_own_what_they_inherit():
    components = {}
    assert schema_of(list[Outer], components) == {
        "type": "array",
        "items": {"$ref": "#/components/schemas/Outer"},
    }
    assert components["Outer"] == {
        "type": "object",
        "description": "An outer object, in two lines.",
        "properties": {
            "ends": {**LENGTH, "description": "Where it ends."},
            "inner": {"$ref": "#/components/schemas/Inner", "description": "What is in it."},
            "note": {"type": "string", "description": "A note."},
        },
        "required": ["ends", "inner"],
        "additionalProperties": False,
    }
    assert set(components) == {"Inner", "Outer"}
