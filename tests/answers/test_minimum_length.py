"""A minimum is a length that the fit check lets be drawn, with a clicker and without."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from answers.hall import broken, hall
from builders.wire import archer, q


def with_clicker(near, far, rest=-1.0, exposed=0.5, **arrow):
    return {
        "archer": archer(draw_control="clicker"),
        "bow": {
            "kind": "recurve",
            "rest_position": q(rest),
            "clicker_range": {"near": q(near), "far": q(far)},
        },
        "arrow": {"point": {"exposed_length": q(exposed)}, **arrow},
    }


def value(answer, name):
    return answer[name]["value"]


def verdict_at(ask, body, length):
    body = {**body, "arrow": {**body["arrow"], "length": q(length)}}
    status, answer = ask("fit-check", body)
    assert status == 200
    return answer["verdict"]


@pytest.mark.parametrize(
    ("near", "far", "minimum", "floor"),
    [
        # Draw 26.25 in to the pivot point; 0.5 in of the point exposed.
        pytest.param(2.5, 4.0, 28.25, "clicker-range", id="what reaches the blade is longer"),
        pytest.param(0.0, 4.0, 26.487, "hand", id="what is safe is longer"),
        pytest.param(3.5, 4.0, 29.0, "bow-back", id="what is safe without it is shorter"),
    ],
)
def test_a_minimum_reaches_the_clicker_that_it_counts_on(ask, near, far, minimum, floor):
    body = with_clicker(near, far)
    _, answer = ask("minimum-length", body)
    assert value(answer, "minimum") == minimum
    assert answer["floors"][0]["id"] == floor
    assert value(answer["floors"][0], "length") == minimum
    total = sum(value(term, "value") for term in answer["derivation"])
    assert total == pytest.approx(minimum, abs=0.002)
    # 28 in of draw and the usual inch: common practice, no source
    assert value(answer, "minimum_without_clicker") == 29
    _, recommended = ask("recommended-length", body)
    assert value(recommended, "minimum") == minimum
    body["archer"]["coach_checked"] = True
    _, checked = ask("fit-check", {**body, "arrow": {**body["arrow"], "length": q(minimum)}})
    assert value(checked, "minimum") == minimum
    assert checked["verdict"] in ("pass", "caution")


@given(
    near=st.floats(-1.5, 4),
    width=st.floats(0, 3),
    rest=st.floats(-1.2, 1.5),
    exposed=st.floats(0, 1.2),
    extra=st.floats(0, 4),
)
@settings(max_examples=60)
def test_from_the_minimum_on_no_length_is_stopped_but_in_the_gap_that_is_told(
    ask, near, width, rest, exposed, extra
):
    near, width, rest, exposed = (round(one, 3) for one in (near, width, rest, exposed))
    body = with_clicker(near, near + width, rest, exposed)
    body["archer"]["coach_checked"] = True
    _, answer = ask("minimum-length", body)
    minimum = value(answer, "minimum")
    without = value(answer, "minimum_without_clicker")
    longest = 26.25 + near + width - exposed
    assert verdict_at(ask, body, minimum) in ("pass", "caution")
    assert verdict_at(ask, body, minimum - 0.011) == "stop"
    length = round(minimum + extra, 3)
    if length <= longest or length >= without or minimum >= without:
        assert verdict_at(ask, body, length) in ("pass", "caution")


def test_without_a_clicker_there_is_one_minimum(ask):
    _, answer = ask("minimum-length", {"archer": archer(), "bow": {"kind": "recurve"}})
    assert value(answer, "minimum") == 29
    assert "minimum_without_clicker" not in answer


@pytest.mark.parametrize("control", ["none", "settled", "clicker", "draw_stop"])
def test_an_arm_span_shows_no_control(ask, control):
    body = {
        "archer": {"arm_span": q(70), "draw_control": control, "coach_checked": True},
        "bow": {"kind": "compound", "rest_position": q(-1.5)},
        "arrow": {"length": q(31.5)},
    }
    _, answer = ask("fit-check", body)
    # 28 in by the arm span, 4 in for an estimate, an inch past the back
    assert value(answer, "minimum") == 33
    assert answer["draw_control"]["counts"] == "none"
    assert answer["verdict"] == ("stop" if control == "none" else "indeterminate")


@pytest.mark.parametrize("path", ["minimum-length", "recommended-length", "fit-check"])
def test_a_minimum_that_may_be_more_has_no_mark_on_the_saw(ask, path):
    body = {
        "archer": archer(),
        "bow": {"kind": "recurve"},
        "arrow": {"length": q(30)},
        "saw_increment": q(0.5),
    }
    _, sure = ask(path, body)
    assert value(sure, "minimum_on_saw") == 29
    _, doubtful = hall(broken)(path, body)
    assert value(doubtful, "minimum_at_least") == 29
    assert "minimum" not in doubtful
    assert "minimum_on_saw" not in doubtful
