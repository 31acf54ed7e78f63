"""Which other shaft acts like known arrows, and at what length and with what point."""

from __future__ import annotations

import math

import pytest

from builders.wire import archer, q
from drawmark.answers.common import cautions

KNOWN = {
    "length": q(29),
    "shaft": {"static_spine": q(600, "astm"), "mass_per_length": q(6.2, "gr/in")},
    "point": {"mass": q(100, "gr")},
}
STEADY = {
    "archer": archer(27, growth_allowance=q(0)),
    "bow": {"kind": "recurve", "draw_weight": q(30, "lbf"), "draw_weight_basis": "own_draw"},
}


def shaft(spine, density, **more):
    return {
        "shaft": {"static_spine": q(spine, "astm"), "mass_per_length": q(density, "gr/in")},
        **more,
    }


def body(*candidates, **more):
    return {"arrow": KNOWN, "candidates": list(candidates), **more}


@pytest.fixture
def replace(ask):
    def send(*candidates, wanted=200, **more):
        status, answer = ask("replacement", body(*candidates, **more))
        assert status == wanted, answer
        return answer

    return send


def test_the_measures_disagree_about_a_stiffer_and_heavier_shaft(replace):
    (found,) = replace(shaft(550, 7.4))["candidates"]
    # 600 / 550 = 1.09 times as stiff, but 1.2 grains more each inch slow the vibration
    difference = found["unchanged"]["stiffness_difference"]
    assert difference["free_vibration"] < -1
    assert difference["launch"] > 1
    assert found["unchanged"]["measures_disagree"]
    spines = found["unchanged"]["equivalent_static_spine"]
    assert spines["free_vibration"]["value"] > 600 > spines["launch"]["value"]


def test_it_is_the_spine_operation_that_agrees(ask, replace):
    """The same shaft at another length and point: as `spine` compares them."""
    made = replace(shaft(600, 6.2), **{**STEADY, "archer": archer(28, growth_allowance=q(0))})[
        "candidates"
    ][0]["made"]
    changes = {"changes": {"point_mass": made["point_mass"]}}
    longer = {**KNOWN, "length": made["length"]}
    before = ask("spine", {"arrow": KNOWN})[1]["before"]
    after = ask("spine", {"arrow": longer, **changes})[1]["after"]
    ratio = (
        after["first_bending_frequency"]["value"] / before["first_bending_frequency"]["value"]
    ) ** 2
    assert made["stiffness_difference"]["free_vibration"] == pytest.approx(
        100 * (ratio - 1), abs=0.1
    )
    ratio = after["critical_launch_force"]["value"] / before["critical_launch_force"]["value"]
    assert made["stiffness_difference"]["launch"] == pytest.approx(100 * (ratio - 1), abs=0.1)


def test_the_same_shaft_comes_first_unchanged(replace):
    answer = replace(shaft(700, 6), shaft(600, 6.2, id="same"), shaft(400, 8))
    first = answer["candidates"][0]
    assert (first["id"], first["index"]) == ("same", 1)
    assert first["made"]["length"] == first["exact"]["length"] == q(29.0)
    assert first["made"]["point_mass"]["value"] == pytest.approx(100, abs=0.02)
    assert first["reason"] == "By vibration it acts the same, by launch force the same."


def test_from_nearest_to_furthest(replace):
    answer = replace(*(shaft(spine, 6.5) for spine in range(300, 1000, 50)))
    distances = [
        max(abs(math.log1p(share / 100)) for share in one["made"]["stiffness_difference"].values())
        for one in answer["candidates"]
    ]
    assert distances == sorted(distances)
    assert len(distances) == 14


def test_without_an_archer_nothing_is_made_shorter_and_nothing_cut(replace):
    answer = replace(*(shaft(spine, 7) for spine in (300, 600, 900)))
    assert answer["advice"] == "leave_uncut"
    assert answer["status"] == "indeterminate"
    assert all(one["made"]["length"]["value"] >= 29 for one in answer["candidates"])
    assert answer["not_checked"][0]["fields"] == ["archer", "bow"]
    assert all("verdict" not in one for one in answer["candidates"])


def test_with_an_archer_lengths_lie_in_the_window(replace):
    answer = replace(*(shaft(spine, 7) for spine in (300, 600, 900)), **STEADY)
    # 27 in draw, 2 in past the back of the bow advised to a learner, at most 3
    assert answer["recommended"] == q(29.0)
    assert answer["allowed"] == {"shortest": q(29.0), "longest": q(30.0)}
    assert answer["advice"] == "cut_to"
    for one in answer["candidates"]:
        assert 29 <= one["made"]["length"]["value"] <= 30
        assert one["verdict"] in ("pass", "caution")


@pytest.mark.parametrize(
    ("growth", "advice"), [(q(0.5), "leave_uncut"), (q(0), "cut_to"), (None, "leave_uncut")]
)
def test_a_draw_that_may_grow_gets_no_cut(replace, growth, advice):
    who = archer(26) if growth is None else archer(26, growth_allowance=growth)
    assert replace(shaft(700, 6), **{**STEADY, "archer": who})["advice"] == advice


def test_a_present_length_below_the_minimum_is_not_copied(replace):
    answer = replace(shaft(600, 6.2), **{**STEADY, "archer": archer(28.5, growth_allowance=q(0))})
    # 28.5 + 1 = 29.5: the present arrows are too short already
    assert answer["present"]["verdict"] == "stop"
    assert answer["minimum"] == q(29.5)
    assert answer["candidates"][0]["made"]["length"]["value"] >= 29.5


def test_what_may_not_be_shot_comes_last(replace):
    # 2,000 thousandths at 30 lbf is far too weak; the other is no nearer, but may be shot.
    weak, stiff = shaft(1900, 6.2, id="weak"), shaft(300, 6.2, id="stiff")
    strong = {**STEADY["bow"], "draw_weight": q(60, "lbf")}
    answer = replace(weak, stiff, archer=STEADY["archer"], bow=strong)
    first, last = answer["candidates"]
    assert (first["id"], last["id"]) == ("stiff", "weak")
    assert last["verdict"] == "stop"
    assert last["findings"][0]["severity"] == "stop"
    assert "would not let it be shot" in last["reason"]


@pytest.mark.parametrize(
    ("shafts", "advice"),
    [
        pytest.param([shaft(600, 6.2)], "cut_to", id="one that may"),
        pytest.param([shaft(2000, 6.2)], "leave_uncut", id="none that may"),
        pytest.param([shaft(2000, 6.2), shaft(600, 6.2)], "cut_to", id="one of two"),
    ],
)
def test_no_cut_where_no_arrow_may_be_shot(replace, shafts, advice):
    answer = replace(*shafts, **STEADY)
    assert answer["advice"] == advice
    assert ("Do not cut" in answer["advice_reason"]) is (advice == "leave_uncut")


def test_every_verdict_is_that_of_a_fit_check(ask, replace):
    candidates = [shaft(spine, density) for spine in (300, 800, 1400) for density in (5, 9)]
    candidates[3]["shaft"]["outside_diameter"] = q(9.5, "mm")
    candidates[4]["shaft"]["material"] = "wood"
    candidates[5]["nock"] = {"mass": q(9, "gr"), "projection": q(0.4)}
    answer = replace(*candidates, **STEADY)
    for one in answer["candidates"]:
        given, made = candidates[one["index"]], one["made"]
        arrow = {**KNOWN, **given, "length": made["length"], "point": {"mass": made["point_mass"]}}
        _, check = ask("fit-check", {"arrow": arrow, **STEADY, "detail": "verdict"})
        assert check["verdict"] == one["verdict"]
        assert [each["rule"] for each in check["findings"]] == [
            each["rule"] for each in one["findings"]
        ]


@pytest.mark.parametrize("points", [(60, 70, 85), (90,), (120, 150, 200)])
def test_only_points_that_can_be_bought(replace, points):
    bought = [q(mass, "gr") for mass in points]
    answer = replace(shaft(550, 7.4), available_points=bought, saw_increment=q(0.125))
    made = answer["candidates"][0]["made"]
    assert made["point_mass"]["value"] in points
    assert made["length"]["value"] % 0.125 == 0


def test_points_of_one_shaft_alone(replace):
    answer = replace(
        shaft(550, 7.4, available_points=[q(75, "gr")]),
        shaft(550, 7.4, available_points=[q(80, "gr"), q(75, "gr"), q(300, "gr")]),
        available_points=[q(120, "gr")],
    )
    found = {one["index"]: one["made"]["point_mass"]["value"] for one in answer["candidates"]}
    assert found[0] == 75
    assert found[1] in (75, 80)


@pytest.mark.parametrize(
    ("candidate", "more", "says"),
    [
        (shaft(550, 7, stock_length=q(28)), {}, "No length is both allowed"),
        (shaft(550, 7, stock_length=q(29.05)), {"saw_increment": q(0.1)}, None),
        (shaft(550, 7, stock_length=q(29.3)), {"saw_increment": q(0.7)}, "No multiple of"),
        (shaft(550, 7, available_points=[q(30, "gr")]), {}, "less than half or more than twice"),
    ],
    ids=["too short a shaft", "room for one mark", "no mark of the saw", "no usable point"],
)
def test_no_arrow_can_be_made(replace, candidate, more, says):
    (one,) = replace(candidate, **more)["candidates"]
    assert ("made" in one) == (says is None)
    assert says is None or says in one["reason"]


@pytest.mark.parametrize(
    ("sends", "pointer"),
    [
        ({"arrow": {**KNOWN, "point": {"mass": q(0, "gr")}}}, "#/arrow/point/mass"),
        ({"archer": STEADY["archer"]}, "#/bow"),
        ({"bow": STEADY["bow"]}, "#/archer"),
        ({"candidates": [shaft(500, 6, id="a"), shaft(500, 6, id="a")]}, "#/candidates/0/id"),
        ({"candidates": [{"shaft": {"static_spine": q(500, "astm")}}]}, "#/candidates/0/shaft"),
        (
            {"candidates": [shaft(500, 6, nock={"projection": q(60, "mm")}, stock_length=q(12))]},
            None,
        ),
    ],
)
def test_what_cannot_be_computed_is_pointed_at(ask, sends, pointer):
    status, answer = ask("replacement", {**body(shaft(500, 6)), **sends})
    if pointer is None:
        assert status == 200
        return
    assert status == 422
    assert answer["errors"][0]["pointer"].startswith(pointer)


TAPERED = {
    "static_spine": q(500, "astm"),
    "mass_per_length": q(7, "gr/in"),
    "stations": [
        {"position": q(0), "relative_stiffness": 0.8, "relative_mass": 0.9},
        {"position": q(16), "relative_stiffness": 1.1, "relative_mass": 1.05},
        {"position": q(32), "relative_stiffness": 1.0, "relative_mass": 1.0},
    ],
}


def test_tapered_shafts_beside_uniform_ones(replace):
    answer = replace(shaft(500, 7), {"shaft": TAPERED}, {"shaft": TAPERED, "stock_length": q(31)})
    made = {one["index"]: one["made"] for one in answer["candidates"]}
    assert len(made) == 3
    assert made[2]["length"]["value"] <= 31
    many = [{"shaft": TAPERED}] * 41
    assert "At most 40" in replace(*many, wanted=422)["errors"][0]["detail"]


def test_it_is_cautious(replace):
    answer = replace(shaft(550, 7.4))
    assert cautions.REPLACING in answer["cautions"]
    assert "qualified coach" in answer["cautions"][0]
