"""Odd arrows of a set as the answer tells them; the statistics have tests of their own."""

from __future__ import annotations

import pytest

from answers.club.people import CONTEXT
from drawmark.answers.kit_consistency import MeasuredArrow, Request, answer
from drawmark.fitting.limits import LEAST_ODD_SPINE
from drawmark.fitting.sources import SOURCES
from drawmark.fitting.units import GRAIN, INCH, UNITS

ALIKE = {"length": 29 * INCH, "mass": 350 * GRAIN}


def check(*arrows):
    return answer(Request(arrows=tuple(MeasuredArrow(**arrow) for arrow in arrows)), CONTEXT)


def test_the_odd_ones_are_named():
    spine = float(UNITS["astm"].to_si(700.0))
    other = float(UNITS["astm"].to_si(600.0))
    said = check(
        *({**ALIKE, "static_spine": spine} for _ in range(5)),
        {"length": 28.9 * INCH, "mass": 340 * GRAIN, "static_spine": other},
    )
    assert [(one["index"], one["field"]) for one in said["odd"]] == [
        (5, "length"),
        (5, "mass"),
        (5, "static_spine"),
    ]
    length, mass, stiffness = said["odd"]
    assert length["value"].value == pytest.approx(28.9 * INCH)
    assert length["typical"].value == pytest.approx(29 * INCH)
    assert length["limit"].value == pytest.approx(0.001)
    assert (mass["value"].kind, mass["limit"].value) == ("mass", pytest.approx(3 * GRAIN))
    assert stiffness["typical"].kind == "static_spine"
    # a difference of stiffness is no spine: in per cent
    assert (stiffness["limit"].kind, stiffness["limit"].value) == (
        "percent",
        pytest.approx(100 * LEAST_ODD_SPINE),
    )


def test_thresholds_say_that_they_have_no_source():
    said = check(ALIKE)
    source = SOURCES[said["thresholds"]["source"]]
    assert source.mark == "default"
    assert "without a source" in source.text
    assert said["thresholds"]["deviations"].value == 3.5
    assert [one["field"] for one in said["thresholds"]["at_least"]] == [
        "length",
        "mass",
        "balance_point",
        "static_spine",
    ]


@pytest.mark.parametrize(
    ("arrows", "status", "name", "inches"),
    [
        pytest.param(
            [{"length": 29 * INCH}, {"length": 28 * INCH}],
            "determinate",
            "shortest_length",
            28,
            id="all measured",
        ),
        pytest.param(
            [{"length": 29 * INCH}, {"mass": 0.02}],
            "indeterminate",
            "shortest_length_at_most",
            29,
            id="one not measured may be shorter",
        ),
        pytest.param([{"mass": 0.02}], "indeterminate", None, None, id="none measured"),
        pytest.param([{}], "indeterminate", None, None, id="nothing known"),
    ],
)
def test_shortest(arrows, status, name, inches):
    said = check(*arrows)
    assert said["status"] == status
    given = {key for key in said if key.startswith("shortest_length")}
    assert given == ({name} if name else set())
    if name:
        assert said[name].value == pytest.approx(inches * INCH)
        assert said[name].down


def test_what_was_not_measured_is_named():
    said = check(ALIKE, ALIKE, {"length": 29 * INCH})
    assert said["unmeasured"] == [{"index": 2, "field": "mass"}]
    unchecked = [one["fields"] for one in said["not_checked"]]
    assert unchecked == [["arrows.mass"], ["arrows.balance_point"], ["arrows.static_spine"]]
