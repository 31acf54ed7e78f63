"""What an answer says was assumed: each with its field, the furthest reaching first."""

from __future__ import annotations

import pytest

from drawmark.web import create_app
from drawmark.web.wire.installed_rules import core_rules

SPREAD = "archer.draws|archer.draw_variation"
GROWTH, BACK = "archer.growth_allowance", "bow.back_position"
SLEEVE, REST, EXPERIENCE = "arrow.point.sleeve_length", "bow.rest_position", "archer.experience"


def q(value, unit="in"):
    return {"value": value, "unit": unit}


@pytest.fixture(scope="module")
def client():
    return create_app(rules=core_rules()).test_client()


def assumed(client, path, archer=None, bow=None, point=None, **more):
    who = {"draw_length": q(28), "draw_length_convention": "standard", **(archer or {})}
    arrow = {"length": q(30), **({} if point is None else {"point": point})}
    body = {"archer": who, "bow": {"kind": "compound", **(bow or {})}, "arrow": arrow, **more}
    answer = client.post(f"/v1/{path}", json=body).get_json()
    found = [one for one in answer["not_checked"] if one.get("rule") == "minimum-length"]
    assert answer["not_checked"][: len(found)] == found
    return [one["fields"][0] for one in found]


PLACED = {"rest_position": q(0), "back_position": q(1.5)}
VARIES = {"draw_variation": q(3, "mm"), "draw_count": 12}


@pytest.mark.parametrize("path", ["fit-check", "minimum-length", "recommended-length"])
@pytest.mark.parametrize(
    ("given", "fields"),
    [
        pytest.param({}, [SPREAD, GROWTH, BACK, SLEEVE, REST, EXPERIENCE], id="nothing else given"),
        pytest.param(
            {"archer": {"draw_length_convention": "to_back"}},
            [SPREAD, GROWTH, BACK, SLEEVE, EXPERIENCE],
            id="to a back whose place is not known, a rest is of no use",
        ),
        pytest.param(
            {"archer": {"growth_allowance": q(0), **VARIES}},
            [BACK, SLEEVE, REST, EXPERIENCE],
            id="spread and growth",
        ),
        pytest.param({"bow": PLACED}, [SPREAD, GROWTH, SLEEVE, EXPERIENCE], id="places"),
        pytest.param(
            {"archer": {"draw_control": "draw_stop"}},
            [SPREAD, GROWTH, SLEEVE, REST, EXPERIENCE],
            id="the back of the bow is of no concern to a draw that is ended",
        ),
        pytest.param(
            {
                "archer": {"growth_allowance": q(0), "experience": "practised", **VARIES},
                "bow": PLACED,
                "point": {"sleeve_length": q(0)},
            },
            [],
            id="everything given",
        ),
    ],
)
def test_what_was_assumed(client, path, given, fields):
    assert assumed(client, path, **given) == fields


def test_a_draw_stop_without_a_rest_still_takes_it_at_the_back(client):
    body = {
        "archer": {
            "draw_length": q(28),
            "draw_length_convention": "standard",
            "draw_control": "draw_stop",
        },
        "bow": {"kind": "compound"},
    }
    answer = client.post("/v1/minimum-length", json=body).get_json()
    # 28 in to the back of the bow, 6 mm and half an inch, rounded up
    assert answer["minimum"] == q(28.737)
