"""Odd arrows of a set as the answer tells them; the statistics have tests of their own."""

from __future__ import annotations

import msgspec
import pytest

from answers.club.people import CONTEXT
from builders.wire import q
from drawmark.answers.common import cautions
from drawmark.answers.kit_consistency import MeasuredArrow, Request, answer
from drawmark.fitting.faults import FittingError
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
    # a difference of stiffness is no spine: in per cent, and its name says so
    assert "limit" not in stiffness
    assert (stiffness["limit_percent"].kind, stiffness["limit_percent"].value) == (
        "percent",
        pytest.approx(100 * LEAST_ODD_SPINE),
    )


def test_thresholds_say_that_they_have_no_source():
    said = check(ALIKE)
    source = SOURCES[said["thresholds"]["source"]]
    assert source.mark == "default"
    assert "without a source" in source.text
    assert said["thresholds"]["deviations"].value == 3.5
    for bound in ("at_least", "at_most"):
        assert [one["field"] for one in said["thresholds"][bound]] == [
            "length",
            "mass",
            "balance_point",
            "static_spine",
        ]
        assert ["limit_percent" in one for one in said["thresholds"][bound]] == [0, 0, 0, 1]
    for least, most in zip(*(said["thresholds"][b] for b in ("at_least", "at_most")), strict=True):
        (name,) = most.keys() - {"field"}
        assert least[name].value < most[name].value
        assert least["distance"] == least[name]  # its older name


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
    said = check(ALIKE, ALIKE, {"id": "third", "length": 29 * INCH})
    assert said["unmeasured"] == [{"index": 2, "id": "third", "field": "mass"}]
    unchecked = [one["fields"] for one in said["not_checked"]]
    assert unchecked == [["arrows.mass"], ["arrows.balance_point"], ["arrows.static_spine"]]


def test_arrows_are_told_by_their_ids():
    said = check({**ALIKE, "id": "a"}, ALIKE, ALIKE, {**ALIKE, "length": 28 * INCH, "id": "d"})
    (odd,) = said["odd"]
    assert (odd["index"], odd["id"], odd["field"]) == (3, "d", "length")
    assert said["shortest_arrow"] == {"index": 3, "id": "d"}


def test_an_arrow_without_an_id_has_none_in_the_answer():
    said = check(ALIKE, ALIKE, ALIKE, {**ALIKE, "length": 28 * INCH})
    assert said["shortest_arrow"] == {"index": 3}
    assert "id" not in said["odd"][0]


def test_an_id_is_used_once():
    with pytest.raises(FittingError) as refused:
        check({**ALIKE, "id": "a"}, {**ALIKE, "id": "b"}, {**ALIKE, "id": "a"}, ALIKE, ALIKE)
    assert [fault.path for fault in refused.value.faults] == [
        ("arrows", 0, "id"),
        ("arrows", 2, "id"),
    ]


# By hand: range 0.5 in, mean 28.875 in, sum of squares 3 x 0.125^2 + 0.375^2 = 0.1875 in^2, over
# three 0.0625: a deviation of 0.25 in. 1/16 in is common practice, no source.
def test_spread_stands_beside_what_is_usual():
    said = check(ALIKE, ALIKE, ALIKE, {**ALIKE, "length": 28.5 * INCH})
    length, mass = said["spread"]
    assert length["range"].value == pytest.approx(0.5 * INCH)
    assert length["standard_deviation"].value == pytest.approx(0.25 * INCH)
    assert length["usual_range"].value == pytest.approx(INCH / 16)
    assert (length["field"], length["count"], length["usual"]) == ("length", 4, False)
    assert (mass["field"], mass["range"].kind, mass["usual"]) == ("mass", "mass", True)
    assert SOURCES[length["source"]].mark == "practice"


@pytest.mark.parametrize(
    ("lengths", "mixed"),
    [
        pytest.param((29, 29, 29, 29), False, id="alike"),
        pytest.param((28, 28.5, 29, 29.5, 30), True, id="28 to 30 in"),
        pytest.param((28, 30), True, id="two that differ"),
    ],
)
def test_a_mixed_set_is_to_be_sorted(lengths, mixed):
    said = check(*({"length": length * INCH} for length in lengths))
    told = msgspec.json.decode(said["cautions"])
    assert (cautions.MIXED in told) == mixed
    assert cautions.SHORTEST in told


@pytest.mark.parametrize(
    ("lengths", "gain"),
    [
        ((28, 28.5, 28.6), 0.5),
        ((28, 28, 28.5), None),
        ((28, None, 28.5), None),
        ((28,), None),
    ],
)
def test_what_the_set_gains_without_its_shortest_arrow(ask, lengths, gain):
    arrows = [{} if length is None else {"length": q(length)} for length in lengths]
    _, answer = ask("kit/consistency", {"arrows": arrows})
    found = answer.get("without_shortest")
    assert found == (
        None
        if gain is None
        else {
            "set_aside": {"index": 0},
            "shortest_length": q(float(sorted(lengths)[1])),
            "gain": q(gain),
        }
    )
