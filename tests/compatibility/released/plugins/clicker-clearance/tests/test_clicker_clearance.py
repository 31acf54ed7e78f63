"""The rules of the plugin, by the public kit alone."""

import drawmark_clicker_clearance
import pytest

from drawmark.rules import testing

PLUGIN = testing.plugin(drawmark_clicker_clearance, "clicker-clearance")
# 28 in by the standard is 666.75 mm to the pivot point.
ARCHER = {"draw_length": "28 in", "draw_length_convention": "standard"}
BOW = {"kind": "recurve", "rest_position": "10 mm"}
CLICKER = {**BOW, "clicker_range": {"near": "20 mm", "far": "70 mm"}}


def arrow(length, exposed="20 mm"):
    return {"length": length, "point": {"exposed_length": exposed}}


@pytest.mark.parametrize(
    ("bow", "arrow", "local", "settings", "rules"),
    [
        pytest.param(CLICKER, arrow("690 mm"), None, {}, set(), id="tip at 43 mm, all clear"),
        pytest.param(
            CLICKER, arrow("660 mm"), None, {}, {"aid-from-rest"}, id="tip at 13 mm: blade at 20 mm"
        ),
        pytest.param(
            CLICKER,
            arrow("660 mm"),
            None,
            {"from_rest": "10 mm"},
            set(),
            id="the same where the club asks for less",
        ),
        pytest.param(
            CLICKER,
            arrow("700 mm", "4 mm"),
            None,
            {},
            {"aid-from-shaft-end"},
            id="4 mm of point: the shaft's end at the blade",
        ),
        pytest.param(
            CLICKER, arrow("700 mm", "5 mm"), None, {}, set(), id="5 mm of point are enough"
        ),
        pytest.param(
            BOW,
            arrow("690 mm"),
            {"position": "29 mm"},
            {},
            {"aid-from-rest"},
            id="another aid, 19 mm ahead of the rest",
        ),
        pytest.param(
            BOW,
            arrow("690 mm"),
            {"position": "30 mm"},
            {},
            set(),
            id="another aid, just far enough",
        ),
        pytest.param(
            BOW,
            arrow("700 mm"),
            {"position": "36 mm"},
            {},
            {"aid-from-shaft-end"},
            id="another aid over the shaft's end",
        ),
    ],
)
def test_aid(bow, arrow, local, settings, rules):
    outcome = testing.judge(
        PLUGIN, settings=settings, local=local, archer=ARCHER, bow=bow, arrow=arrow
    )
    found = {placed.rule for placed in outcome.findings if placed.rule.startswith("aid-")}
    assert found == rules
    assert not outcome.unevaluated


def test_floor_of_the_nearest_aid():
    outcome = testing.judge(PLUGIN, archer=ARCHER, bow=CLICKER, arrow=arrow("690 mm"))
    # 666.75 to the pivot + 10 rest + 20 clearance - 20 of point.
    assert outcome.minimum_usable == pytest.approx(0.67675)


@pytest.mark.parametrize(
    ("bow", "arrow", "not_checked"),
    [
        pytest.param(
            {"kind": "recurve", "rest_position": None},
            arrow("690 mm"),
            set(),
            id="no aid, and none claimed",
        ),
        pytest.param(
            {**CLICKER, "rest_position": None},
            arrow("690 mm"),
            {"nearest-aid", "aid-from-rest"},
            id="no rest",
        ),
        pytest.param(
            CLICKER,
            {"length": "690 mm"},
            {"nearest-aid", "aid-from-rest", "aid-from-shaft-end"},
            id="no exposed length",
        ),
    ],
)
def test_what_is_not_given_is_not_checked(bow, arrow, not_checked):
    outcome = testing.judge(PLUGIN, archer=ARCHER, bow=bow, arrow=arrow)
    assert {one.rule for one in outcome.not_checked} == not_checked


def test_aid_that_is_claimed_and_not_given_is_not_checked():
    outcome = testing.judge(
        PLUGIN,
        archer={**ARCHER, "draw_control": "clicker"},
        bow={"kind": "recurve"},
        arrow=arrow("690 mm"),
    )
    assert {one.rule for one in outcome.not_checked} == {
        "nearest-aid",
        "aid-from-rest",
        "aid-from-shaft-end",
    }


def test_conformance():
    spoke = testing.conform(PLUGIN)
    assert all(spoke.values()), spoke
