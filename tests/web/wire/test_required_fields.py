"""What operations need: asked of a request, and of each item of a list."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from drawmark.rules.field_paths import parse_need
from drawmark.web.wire.required_fields import faults_in


@dataclass(frozen=True, kw_only=True)
class Part:
    first: float | None = None
    second: float | None = None


@dataclass(frozen=True, kw_only=True)
class Item:
    part: Part | None = None


@dataclass(frozen=True, kw_only=True)
class Request:
    part: Part | None = None
    items: tuple[Item, ...] = ()


FULL, EMPTY = Item(part=Part(first=1.0)), Item()
HALF = Item(part=Part(second=1.0))


@pytest.mark.parametrize(
    ("need", "request_", "pointers"),
    [
        pytest.param("part.first", Request(part=Part(first=0.0)), [], id="there"),
        pytest.param("part.first", Request(part=Part()), ["#/part/first"], id="missing"),
        pytest.param("part.first", Request(), ["#/part/first"], id="the whole part missing"),
        pytest.param(
            "part.first|part.second", Request(part=Part(second=1.0)), [], id="another way"
        ),
        pytest.param("items[] part.first", Request(items=(FULL, FULL)), [], id="in each"),
        pytest.param(
            "items[] part.first",
            Request(items=(FULL, EMPTY, HALF)),
            ["#/items/1/part/first", "#/items/2/part/first"],
            id="not in each",
        ),
        pytest.param(
            "items[] part.first|part.second",
            Request(items=(FULL, HALF, EMPTY)),
            ["#/items/2/part/first"],
            id="each in its own way",
        ),
        pytest.param("items[] part.first", Request(), [], id="no items"),
    ],
)
def test_what_is_asked_for(need, request_, pointers):
    found = faults_in(request_, [parse_need(need)])
    assert [fault["pointer"] for fault in found] == pointers


def test_other_ways_are_worded():
    (fault,) = faults_in(Request(), [parse_need("part.first|part.second")])
    assert fault["detail"] == "needed, unless part.second is given"
