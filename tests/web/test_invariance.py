"""The same fitting in inches and in millimetres gives the same answer."""

from __future__ import annotations

import copy

from hypothesis import given, settings
from hypothesis import strategies as st

from drawmark.web import create_app
from drawmark.web.examples import EXAMPLES
from drawmark.web.installed import core_rules

CLIENT = create_app(rules=core_rules()).test_client()
TENTHS = st.integers(0, 120)


def check(draw, length, unit, factor):
    body = copy.deepcopy(EXAMPLES["fit-check"])
    body["archer"]["draw_length"] = {"value": draw * factor, "unit": unit}
    body["arrow"]["length"] = {"value": length * factor, "unit": unit}
    body["report_in"] = {"length": "mm"}
    response = CLIENT.post("/v1/fit-check", json=body)
    assert response.status_code == 200
    return response.get_json()


@settings(max_examples=150, deadline=None, derandomize=True, database=None)
@given(TENTHS, TENTHS)
def test_inches_millimetres_and_feet_agree(first, second):
    draw, length = 22 + first / 10, 22 + second / 10
    answers = [
        check(draw, length, unit, factor)
        for unit, factor in (("in", 1.0), ("mm", 25.4), ("cm", 2.54), ("ft", 1 / 12))
    ]
    assert len({answer["verdict"] for answer in answers}) == 1
    for name in ("minimum", "recommended", "longest_safe_draw"):
        figures = [answer[name]["value"] for answer in answers]
        # one step of the wire's resolution
        assert max(figures) - min(figures) <= 0.0100001
