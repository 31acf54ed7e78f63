"""What arrived against the order, arrow by arrow, against single fit checks."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders.wire import archer, bow, q

WEAK = {
    "shaft": {"static_spine": q(1100, "astm"), "mass_per_length": q(6, "gr/in")},
    "point": {"mass": q(100, "gr")},
}
ONE = {"id": "Runa", "archer": archer(26), "bow": bow(28), "ordered_length": q(28)}

lengths = st.lists(st.floats(25, 33).map(lambda one: round(one, 2)), min_size=1, max_size=6)


@given(arrived=lengths)
def test_each_arrow_has_the_verdict_of_its_fit_check(ask, arrived):
    """A fit check of the same length; one of another draw where a shorter draw is named."""
    body = {**ONE, "arrow": WEAK, "arrived": [q(one) for one in arrived]}
    _, answer = ask("delivery", {"sets": [body]})
    (found,) = answer["sets"]
    for one, inches in zip(found["arrows"], arrived, strict=True):
        shot = {"archer": ONE["archer"], "bow": ONE["bow"], "arrow": {**WEAK, "length": q(inches)}}
        _, single = ask("fit-check", {**shot, "detail": "verdict"})
        assert one["verdict"] == single["verdict"]
        assert (one["use"] == "shoot") == (single["verdict"] in ("pass", "caution"))
        if one["use"] == "shorter_draw":
            less = archer(found["longest_safe_draw"]["value"])
            _, single = ask("fit-check", {**shot, "archer": less, "detail": "verdict"})
            assert single["verdict"] in ("pass", "caution")


@pytest.mark.parametrize(
    ("inches", "tolerance", "told"),
    [
        pytest.param(28.03, None, "as_ordered", id="within a millimetre"),
        pytest.param(27.95, None, "shorter", id="1.3 mm"),
        pytest.param(28.05, None, "longer", id="1.3 mm longer"),
        pytest.param(27.9375, q(1 / 16), "as_ordered", id="at a stated tolerance"),
    ],
)
def test_against_the_order(ask, inches, tolerance, told):
    asked = {"sets": [{**ONE, "arrived": [q(inches)]}]}
    if tolerance is not None:
        asked["tolerance"] = tolerance
    _, answer = ask("delivery", asked)
    assert answer["sets"][0]["arrows"][0]["against_order"] == told


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"bow": None}, "#/sets/0/bow"),
        ({"archer": {}}, "#/sets/0/archer/draw_length"),
        ({"archer": {"draw_length": q(26)}}, "#/sets/0/archer/draw_length_convention"),
        (
            {"arrow": {"shaft": {"stations": [
                {"position": q(0), "relative_stiffness": 1, "relative_mass": 1},
                {"position": q(0), "relative_stiffness": 1, "relative_mass": 1},
            ]}}},
            "#/sets/0/arrow/shaft/stations/1/position",
        ),
    ],
)  # fmt: skip
def test_refusals(ask, changes, pointer):
    body = {name: value for name, value in {**ONE, **changes}.items() if value is not None}
    status, problem = ask("delivery", {"sets": [{**body, "arrived": [q(28)]}]})
    assert status == 422
    assert problem["errors"][0]["pointer"].startswith(pointer.rpartition("/")[0])


def test_what_nobody_was_named_for_is_not_determined(ask):
    body = {"id": "red", "ordered_length": q(28), "arrived": [q(27)]}
    _, answer = ask("delivery", {"sets": [{**ONE, "arrived": [q(28)]}, body]})
    assert answer["sets"][1]["arrows"][0]["use"] == "not_checked"
    assert answer["status"] == "indeterminate"
    _, answer = ask("delivery", {"sets": [{**ONE, "arrived": [q(28)]}]})
    assert answer["status"] == "determinate"
