"""How far an arrow may be drawn hangs on every rule, not on its length alone."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from answers.hall import broken, hall
from builders.wire import archer, arrow, bow, q
from drawmark import rules


def verdict_at(ask, draw, what, shot, **more):
    _, answer = ask("fit-check", {"archer": archer(draw, **more), "bow": what, "arrow": shot})
    return answer


def longest(ask, what, shot):
    _, answer = ask("longest-draw", {"bow": what, "arrow": shot})
    _, labels = ask("kit/labels", {"bow": what, "sets": [{"id": "a", "arrow": shot}]})
    (label,) = labels["labels"]
    assert label.get("longest_safe_draw") == answer.get("longest_safe_draw")
    assert label.get("findings") == answer.get("findings")
    return answer


@pytest.mark.parametrize(
    ("what", "shot", "limited"),
    [
        # 30 in of arrow are long enough for 29 in of draw: common practice, no source
        pytest.param(bow(30, "at_28"), arrow(30, 600), None, id="strong enough for all of it"),
        pytest.param(
            bow(36, "at_28"), arrow(30, 900), "launch-load", id="too weak for the longest"
        ),
        pytest.param(
            bow(36, "at_28", minimum_arrow_mass=q(100, "gr")),
            arrow(30, 900),
            "launch-load",
            id="the same, heavy",
        ),
        pytest.param(
            bow(56, "at_28"), arrow(30, 400), "arrow-mass", id="too light for the longest"
        ),
    ],
)
def test_a_draw_beyond_which_the_push_is_too_much_is_not_told(ask, what, shot, limited):
    answer = longest(ask, what, shot)
    told = answer["longest_safe_draw"]["value"]
    assert answer["status"] == "determinate"
    if limited is None:
        assert told == 29
        assert "findings" not in answer
        return
    assert told < 29
    assert limited in {one["rule"] for one in answer["findings"]}
    assert verdict_at(ask, told, what, shot)["verdict"] in ("pass", "caution")
    beyond = verdict_at(ask, told + 0.02, what, shot)
    assert beyond["verdict"] == "stop"
    # the fit check tells the same, whatever the draw
    for draw in (22, told, told + 0.02, 29):
        assert verdict_at(ask, draw, what, shot)["longest_safe_draw"]["value"] == told


@pytest.mark.parametrize("basis", ["own_draw", "at_28"])
def test_no_draw_is_safe_where_the_push_is_always_too_much(ask, basis):
    what = bow(90, basis, kind="compound")
    answer = longest(ask, what, arrow(30, 1000))
    assert "longest_safe_draw" not in answer
    assert answer["reason"] == "No draw is safe with this arrow under these rules."
    assert {one["severity"] for one in answer["findings"]} == {"stop"}
    checked = verdict_at(ask, 26, what, arrow(30, 1000))
    assert checked["verdict"] == "stop"
    assert "longest_safe_draw" not in checked


def test_few_draws_that_vary_shorten_the_longest_draw_by_what_is_allowed_for_them(ask):
    who = {"draws": [q(26), q(27)], "draw_length_convention": "to_pivot"}
    body = {"archer": who, "bow": {"kind": "recurve"}, "arrow": arrow(31, 900)}
    _, answer = ask("longest-draw", body)
    mean = answer["longest_safe_draw"]["value"]
    allowance = answer["draw_control"]["allowance"]["value"]
    assert allowance > 2
    # the rest is taken as the back of the bow, and half an inch is kept on it
    assert 31 - 1.75 - allowance - 0.5 <= mean <= 31 - 1.75 - allowance + 0.05
    who["draws"] = [q(mean - 0.5), q(mean + 0.5)]
    _, checked = ask("fit-check", {**body, "archer": who})
    assert checked["verdict"] == "caution"
    assert "few-draws" in {one["rule"] for one in checked["findings"]}


@given(
    pounds=st.floats(20, 60),
    spine=st.floats(350, 1200),
    length=st.floats(26, 33),
    shorter=st.floats(0, 4),
    basis=st.sampled_from(["at_28", "own_draw"]),
)
@settings(max_examples=60)
def test_up_to_the_longest_safe_draw_nothing_is_stopped(ask, pounds, spine, length, shorter, basis):
    what, shot = bow(round(pounds, 1), basis), arrow(round(length, 2), round(spine))
    answer = longest(ask, what, shot)
    if "longest_safe_draw" in answer:
        # 12 in: the shortest draw that a request may state
        draw = max(answer["longest_safe_draw"]["value"] - round(shorter, 3), 12)
        checked = verdict_at(ask, draw, what, shot, coach_checked=True)
        assert checked["verdict"] in ("pass", "caution")


def test_an_arrow_too_heavy_for_short_draws_has_a_longest_draw(ask):
    """1,100 gr from 60 lbf at 28 in: in doubt where the draw is short and the bow light."""
    what = bow(60, "at_28")
    shot = {**arrow(32.3, 500), "mass": q(1100, "gr")}
    answer = longest(ask, what, shot)
    assert answer["status"] == "determinate"
    told = answer["longest_safe_draw"]["value"]
    checked = verdict_at(ask, told, what, shot)
    assert checked["verdict"] in ("pass", "caution")
    assert checked["longest_safe_draw"]["value"] == told
    assert verdict_at(ask, 13, what, shot)["verdict"] == "indeterminate"


@given(
    near=st.floats(-1, 4),
    width=st.floats(0.1, 3),
    rest=st.floats(-1, 1.5),
    exposed=st.floats(0, 1.2),
    length=st.floats(25, 32),
    spread=st.floats(0, 0.3),
    most=st.one_of(st.none(), st.floats(24, 32)),
)
@settings(max_examples=40)
def test_the_draw_that_is_told_is_safe_to_the_last_digit(
    ask, near, width, rest, exposed, length, spread, most
):
    near, width, rest, exposed = (round(one, 3) for one in (near, width, rest, exposed))
    what = {
        "kind": "recurve",
        "rest_position": q(rest),
        "clicker_range": {"near": q(near), "far": q(round(near + width, 3))},
    }
    if most is not None:
        what["maximum_draw"] = q(round(most, 2))
    shot = {"length": q(round(length, 3)), "point": {"exposed_length": q(exposed)}}
    who = {
        "draw_length_convention": "to_pivot",
        "draw_control": "clicker",
        "draw_variation": q(round(spread, 3)),
        "draw_count": 8,
    }
    _, answer = ask("longest-draw", {"archer": who, "bow": what, "arrow": shot})
    if "longest_safe_draw" in answer:
        who |= {"draw_length": answer["longest_safe_draw"], "coach_checked": True}
        _, checked = ask("fit-check", {"archer": who, "bow": what, "arrow": shot})
        assert checked["verdict"] in ("pass", "caution")


def short_draws(case):
    # 600 mm to the pivot point
    yield rules.stop("no such draw in our hall", when=case.facts.draw > 0.6)


@pytest.mark.parametrize(
    ("check", "name"),
    [
        pytest.param(short_draws, "longest_safe_draw", id="a rule about the draw"),
        pytest.param(broken, "longest_safe_draw_at_most", id="one that fails"),
    ],
)
def test_local_rules_that_only_find_count_as_well(check, name):
    ask, what = hall(check), {"kind": "recurve"}
    answer = longest(ask, what, arrow(30, 900))
    # 600 mm and 1 3/4 in; or what the length alone allows
    told = {"longest_safe_draw": 25.372, "longest_safe_draw_at_most": 29}[name]
    assert answer[name]["value"] == told
    assert answer["status"] == ("determinate" if name == "longest_safe_draw" else "indeterminate")
    for draw in (24, 28):
        assert verdict_at(ask, draw, what, arrow(30, 900))[name]["value"] == told
