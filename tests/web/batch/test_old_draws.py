"""Old draws and ages in a batch get the answers that they get alone."""

from __future__ import annotations

import random

import pytest

from builders.wire import archer, arrow, bow, q

CLICKER = {"rest_position": q(0), "clicker_range": {"near": q(1), "far": q(2.5)}}


def item(rng):
    more = rng.choice(
        [
            {"age": rng.choice([9.5, 12.25, 13.5, 17, 30]), "growth_table": "boys"},
            {"age": rng.choice([9.5, 12.25, 13.5, 17, 30])},
            {"growth_rate": q(rng.choice([0, 0.7, 1.4]))},
            {},
        ]
    )
    who = archer(
        rng.choice([24, 25.5, 27]),
        measured_on=rng.choice(["2026-01-10", "2026-08-20"]),
        today="2026-09-01",
        draw_control=rng.choice(["none", "clicker"]),
        **more,
    )
    return {"archer": who, "bow": bow(26, **CLICKER), "arrow": arrow(rng.choice([25, 27, 29.5]))}


def test_a_batch_says_what_single_checks_say(ask):
    rng = random.Random(5)
    items = [item(rng) for _ in range(120)]
    _, batch = ask("fit-check/batch", {"items": items})
    verdicts = set()
    for one, found in zip(items, batch["items"], strict=True):
        _, single = ask("fit-check", {**one, "detail": "verdict"})
        assert found["result"] == single
        verdicts.add(single["verdict"])
    assert {"pass", "caution", "stop"} <= verdicts


@pytest.mark.parametrize(
    ("days", "field"),
    [
        pytest.param(
            {"measured_on": "2026-09-02", "today": "2026-09-01"}, "measured_on", id="swapped"
        ),
        pytest.param(
            {"measured_on": "2016-08-01", "today": "2026-09-01"}, "measured_on", id="long ago"
        ),
        pytest.param({"measured_on": "2026-01-10"}, "today", id="no day to count to"),
    ],
)
def test_days_that_cannot_age_a_draw_are_refused(ask, days, field):
    one = {"archer": archer(24, age=12, **days), "bow": bow(26), "arrow": arrow(27)}
    status, problem = ask("fit-check", one)
    assert status == 422
    assert [error["pointer"] for error in problem["errors"]] == [f"#/archer/{field}"]
    plain = {**one, "archer": archer(24, age=12)}
    _, batch = ask("fit-check/batch", {"items": [plain, one, plain]})
    assert ["problem" in found for found in batch["items"]] == [False, True, False]
