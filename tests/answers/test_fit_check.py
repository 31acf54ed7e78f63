"""What a fit check says beside its verdict."""

from __future__ import annotations

import pytest

from builders.wire import CLICKER, archer, arrow, q
from drawmark.answers.common import cautions

BOW = {"kind": "recurve"}


def fit(who=None, bow=None, **more):
    return {"archer": who or archer(), "bow": bow or BOW, "arrow": arrow(), **more}


def test_the_minimum_is_the_one_that_was_judged_whatever_the_saw_can_do(ask):
    body = fit(arrow={"length": q(29.05)}, saw_increment=q(0.5))
    _, answer = ask("fit-check", body)
    assert answer["verdict"] == "caution"
    assert answer["minimum"]["value"] == 29.0
    body["archer"] = archer(28.05)
    _, answer = ask("fit-check", body)
    assert (answer["minimum"]["value"], answer["minimum_on_saw"]["value"]) == (29.05, 29.5)


@pytest.mark.parametrize(
    ("who", "convention"),
    [
        pytest.param(archer(), "standard", id="as stated"),
        pytest.param(archer(26.25, draw_length_convention="to_pivot"), "to_pivot", id="pivot"),
        pytest.param({"arm_span": q(70)}, "standard", id="arm span alone"),
    ],
)
def test_a_draw_never_stands_without_its_convention(ask, who, convention):
    _, answer = ask("fit-check", fit(who))
    assert answer["draw_length_convention"] == convention


def test_every_fit_check_says_once_where_an_arrow_ends(ask):
    """A coach says it first: to the shaft's end. To the tip reads longer, on the unsafe side."""
    for path, body in (("fit-check", fit()), ("fit-check/batch", {"items": [fit(), fit()]})):
        status, answer = ask(path, body)
        assert status == 200
        told = [one for one in answer["cautions"] if "shaft's end, not to the point's tip" in one]
        assert len(told) == 1
        assert all("cautions" not in one["result"] for one in answer.get("items", []))


@pytest.mark.parametrize(
    ("who", "bow", "said"),
    [
        pytest.param(archer(), BOW, cautions.FEW_DRAWS, id="one draw"),
        pytest.param(
            archer(draw_control="clicker"), CLICKER, cautions.MOVED_BLADE, id="a clicker counts"
        ),
        pytest.param(archer(draw_variation=q(0.1), draw_count=12), BOW, None, id="draws enough"),
    ],
)
def test_cautions_that_hang_on_the_draw(ask, who, bow, said):
    body = fit(who, bow, arrow={"length": q(27.5), "point": {"exposed_length": q(0.7)}})
    _, answer = ask("fit-check", body)
    hanging = {cautions.FEW_DRAWS, cautions.MOVED_BLADE}
    assert hanging & set(answer["cautions"]) == ({said} if said else set())


def test_what_figures_cannot_tell_stands_beside_the_items_of_a_batch(ask):
    _, answer = ask("fit-check/batch", {"items": [fit()]})
    assert answer["not_told"] == list(cautions.NOT_TOLD)
    assert answer["cautions"] == [*cautions.FIT, *cautions.HANGING]


@pytest.mark.parametrize(
    "who",
    [
        pytest.param(
            {
                "draws": [q(26), q(27), q(27.4)],
                "draw_length_convention": "standard",
            },
            id="few draws",
        ),
        pytest.param(archer(26, growth_allowance=q(1.5)), id="growth"),
        pytest.param(archer(26, draw_variation=q(0.2), draw_count=12), id="spread"),
        pytest.param(archer(26, draw_variation=q(0.2), draw_count=4), id="few stated draws"),
    ],
)
def test_the_longest_safe_draw_stays_within_the_bows(ask, who):
    bow = {**BOW, "maximum_draw": q(28)}
    body = {"archer": who, "bow": bow, "arrow": {"length": q(33)}}
    _, answer = ask("fit-check", body)
    longest = answer["longest_safe_draw"]["value"]
    assert longest < 28
    if "draws" in who:
        middle = sum(one["value"] for one in who["draws"]) / 3
        at = [q(one["value"] - middle + longest) for one in who["draws"]]
        body["archer"] = {**who, "draws": at}
    else:
        body["archer"] = {**who, "draw_length": q(longest)}
    _, answer = ask("fit-check", body)
    assert not [one for one in answer["findings"] if one["rule"] == "maximum-draw"]


@pytest.mark.parametrize("length", [12.9, 15, 20])
def test_it_gives_the_same_longest_draw_as_the_operation_for_that(ask, length):
    arrow = {"length": q(length)}
    _, checked = ask("fit-check", fit(arrow=arrow))
    _, longest = ask(
        "longest-draw",
        {"archer": {"draw_length_convention": "standard"}, "bow": BOW, "arrow": arrow},
    )
    assert checked.get("longest_safe_draw") == longest.get("longest_safe_draw")
