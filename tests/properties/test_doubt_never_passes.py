"""What is in doubt never passes, and no field makes an answer milder than without it."""

from __future__ import annotations

import pytest

from builders.wire import archer, q


def fit(who, length, bow=None, **arrow):
    return {
        "archer": who,
        "bow": {"kind": "recurve", **(bow or {})},
        "arrow": {"length": q(length), **arrow},
    }


SPAN = {"arm_span": q(70)}
STEADY = {"draw_variation": q(0.08), "draw_count": 12, "draw_control": "settled"}


def test_an_estimate_with_a_claim_of_settled_draws_allows_no_longer_draw(ask):
    bow = {"rest_position": q(-4)}
    _, plain = ask("fit-check", fit(SPAN, 34, bow))
    _, claimed = ask("fit-check", fit({**SPAN, **STEADY}, 34, bow))
    assert claimed["draw_control"]["counts"] == "none"
    assert claimed["longest_safe_draw"]["value"] <= plain["longest_safe_draw"]["value"]
    _, longest = ask("longest-draw", fit({**SPAN, **STEADY}, 34, bow))
    assert longest["longest_safe_draw"]["value"] <= plain["longest_safe_draw"]["value"]


def test_an_estimate_shows_no_clicker(ask):
    bow = {"rest_position": q(-1), "clicker_range": {"near": q(2), "far": q(6)}}
    who = {**SPAN, "draw_control": "clicker"}
    _, answer = ask("fit-check", fit(who, 31.2, bow, point={"exposed_length": q(1)}))
    assert answer["draw_control"]["counts"] == "none"
    assert "archer.draw_length" in answer["draw_control"]["missing"]
    assert answer["verdict"] in ("indeterminate", "stop")


@pytest.mark.parametrize("others", [4, 5, 10])
def test_a_draw_made_beyond_the_bows_limit_stops_however_many_are_shorter(ask, others):
    who = {
        "draws": [q(27)] * others + [q(29)],
        "draw_length_convention": "standard",
    }
    _, answer = ask("fit-check", fit(who, 34, {"maximum_draw": q(28.2)}))
    assert answer["verdict"] == "stop"


def test_an_estimate_near_the_bows_limit_is_a_caution_of_its_own(ask):
    # 70 in of arm span stand for 28 in of draw, give or take 4 in.
    _, answer = ask("fit-check", fit(SPAN, 40, {"maximum_draw": q(30)}))
    assert "maximum-draw" in {one["rule"] for one in answer["findings"]}


@pytest.mark.parametrize(
    ("weighed", "verdict"),
    [(185, "stop"), (340, "stop"), (400, "indeterminate")],
)
def test_a_weighed_mass_hides_no_parts_that_are_too_light(ask, weighed, verdict):
    # Parts of 184 gr; 5 grains for each of 70 lbf are 350 gr (ASTM F1544, read).
    bow = {"draw_weight": q(70, "lbf"), "draw_weight_basis": "own_draw"}
    shaft = {"mass_per_length": q(4, "gr/in")}
    parts = {"mass": q(weighed, "gr"), "shaft": shaft, "point": {"mass": q(60, "gr")}}
    _, answer = ask("fit-check", fit(archer(28), 31, bow, **parts))
    assert answer["verdict"] == verdict


def test_a_draw_stop_allows_for_no_growth_and_says_so(ask):
    who = archer(28, draw_control="draw_stop", growth_allowance=q(5))
    bow = {"kind": "compound", "rest_position": q(-2)}
    _, answer = ask("fit-check", fit(who, 27.5, bow))
    assert any("draw stop" in words and "allow for growth" in words for words in answer["cautions"])


@pytest.mark.parametrize(
    ("mass", "verdict"),
    [
        pytest.param(q(190, "gr"), "stop", id="190 gr"),
        pytest.param(q(190, "g"), "indeterminate", id="grams for grains"),
        pytest.param(q(60, "g"), "pass", id="heavy, as a wooden arrow may be"),
    ],
)
def test_grams_in_the_place_of_grains_pass_for_no_arrow(ask, mass, verdict):
    bow = {"draw_weight": q(40, "lbf"), "draw_weight_basis": "own_draw"}
    _, answer = ask("fit-check", fit(archer(26.5), 29, bow, mass=mass))
    assert answer["verdict"] == verdict


@pytest.mark.parametrize(
    ("who", "length", "verdict", "rules"),
    [
        # Mean and V: derived, scipy.stats; see the table of the allowance for the spread.
        pytest.param({"draws": [24, 28, 32]}, 33.5, "stop", {"few-draws"}, id="8 in apart"),
        pytest.param({"draws": [24, 28, 32]}, 47, "caution", {"few-draws"}, id="even a long arrow"),
        pytest.param({"draws": [27, 28, 28.5]}, 30.5, "stop", {"few-draws"}, id="1.5 in apart"),
        pytest.param({"draws": [27.9, 28, 28.1]}, 30, "pass", set(), id="draws alike"),
        pytest.param({"draws": [28]}, 29.5, "pass", set(), id="one draw tells no spread"),
        pytest.param(
            {"draw_length": 28, "draw_variation": 5, "draw_count": 2},
            36,
            "stop",
            {"few-draws"},
            id="two draws",
        ),
        pytest.param(
            {"draws": [27, 28, 28.5, 28, 27.5, 28]}, 30.5, "caution", set(), id="six are not few"
        ),
    ],
)
@pytest.mark.parametrize("detail", ["full", "verdict"])
def test_few_draws_that_vary_widely_are_told_of(ask, who, length, verdict, rules, detail):
    lengths = {name: value for name, value in who.items() if name != "draw_count"}
    told = {
        name: list(map(q, value)) if isinstance(value, list) else q(value)
        for name, value in lengths.items()
    }
    count = {"draw_count": who["draw_count"]} if "draw_count" in who else {}
    body = fit({**told, **count, "draw_length_convention": "standard"}, length)
    _, answer = ask("fit-check", {**body, "detail": detail})
    assert answer["verdict"] == verdict
    assert {one["rule"] for one in answer["findings"]} & {"few-draws"} == rules


@pytest.mark.parametrize("control", ["clicker", "draw_stop"])
@pytest.mark.parametrize(
    ("variation", "count", "verdict"),
    [
        # Lower bound of the deviation, 95 %: s sqrt((n - 1) / chi-square), any printed table.
        pytest.param(30, 2, "indeterminate", id="two draws 30 mm apart by deviation"),
        pytest.param(30, 5, "indeterminate", id="five"),
        pytest.param(9.0, 6, "indeterminate", id="six: 6.05 mm at least"),
        pytest.param(8.9, 6, "pass", id="six: 5.98 mm at least"),
        pytest.param(3, 6, "pass", id="as a clicker gives"),
    ],
)
def test_draws_that_contradict_their_control_are_in_doubt(ask, control, variation, count, verdict):
    who = archer(
        27,
        draw_control=control,
        draw_variation=q(variation, "mm"),
        draw_count=count,
        coach_checked=True,
    )
    bow = {
        "kind": "compound",
        "rest_position": q(0),
        "clicker_range": {"near": q(1), "far": q(9)},
    }
    _, answer = ask("fit-check", fit(who, 33, bow, point={"exposed_length": q(0.7)}))
    assert answer["draw_control"]["counts"] == control
    assert answer["verdict"] == verdict
    found = {one["rule"]: one["severity"] for one in answer["findings"]}
    assert (found.get("draw-control") == "indeterminate") is (verdict == "indeterminate")


def test_few_draws_are_no_doubt_where_the_clicker_ends_them(ask):
    bow = {"rest_position": q(0.2), "clicker_range": {"near": q(1), "far": q(3)}}
    who = {"draws": [q(28), q(28.2), q(27.9)], "draw_length_convention": "standard"}
    body = fit({**who, "draw_control": "clicker"}, 28.25, bow, point={"exposed_length": q(0.7)})
    _, answer = ask("fit-check", body)
    assert answer["draw_control"]["counts"] == "clicker"
    assert "few-draws" not in {one["rule"] for one in answer["findings"]}


@pytest.mark.parametrize("path", ["fit-check", "longest-draw"])
def test_a_claim_beside_an_estimate_is_told_as_claimed_and_lacking(ask, path):
    _, answer = ask(path, fit({**SPAN, **STEADY}, 34))
    control = answer["draw_control"]
    assert (control["claimed"], control["counts"]) == ("settled", "none")
    assert control["missing"]
