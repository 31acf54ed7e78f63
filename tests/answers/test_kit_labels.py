"""What a label says is safe, and what it says of the months to come."""

from __future__ import annotations

import dataclasses
from typing import get_args

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from answers.club.people import CONTEXT, CORE, RULESETS, arrows, quarters, rack, with_rules
from builders import model
from drawmark import rules
from drawmark.answers.club.members import ClubSet
from drawmark.answers.common import cautions
from drawmark.answers.common.archer_at_draw import trials_of
from drawmark.answers.common.context import Context
from drawmark.answers.common.longest_draw_search import is_long_enough
from drawmark.answers.kit_labels import Growth, Request, answer
from drawmark.fitting.faults import FittingError
from drawmark.fitting.limits import MOST_SAFE_MONTHS, TOLERANCE
from drawmark.fitting.model import Archer, Arrow, Bow, ClickerRange, Fitting, Point
from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE
from drawmark.rules.evaluate import evaluate
from rules.bench import rule

pytestmark = pytest.mark.usefixtures("patience")

RECURVE = Bow(kind="recurve")


def plain(name, inches, **more):
    return ClubSet(id=name, arrow=Arrow(length=inches * INCH), **more)


def label(sets, bow=RECURVE, archer=None, ruleset=CORE, **more):
    request = Request(sets=tuple(sets), bow=bow, archer=archer or Archer(), **more)
    return answer(request, Context(ruleset=ruleset, engine="test"))


def only(said):
    (one,) = said["labels"]
    return one


@pytest.mark.parametrize(
    ("convention", "bow", "inches"),
    [
        # 28 in of arrow less 1 in past the back of the bow (common practice, no source); the back
        # stands 1 3/4 in from the pivot point, as in the standard draw (AMO FP-3, read).
        pytest.param("standard", RECURVE, 27.0, id="standard"),
        pytest.param("to_pivot", RECURVE, 25.25, id="to the pivot point"),
        pytest.param("to_back", Bow(kind="recurve", back_position=2 * INCH), 27.0, id="to a back"),
    ],
)
def test_longest_safe_draw_in_each_convention(convention, bow, inches):
    said = label([plain("s", 28)], bow, Archer(draw_length_convention=convention))
    assert only(said)["longest_safe_draw"].value == pytest.approx(inches * INCH, abs=2 * TOLERANCE)
    assert only(said)["longest_safe_draw"].down
    assert said["draw_length_convention"] == convention


@pytest.mark.parametrize(
    ("inches", "increment", "expected"),
    [
        (28.0, 0.5, 27.0),
        (28.2, 0.5, 27.0),
        (28.499, 0.5, 27.0),
        (28.5, 0.5, 27.5),
        (28.2, None, 27.2),
    ],
)
def test_label_is_rounded_down(inches, increment, expected):
    more = {} if increment is None else {"label_increment": increment * INCH}
    said = only(label([plain("s", inches)], **more))
    assert said["label"].value == pytest.approx(expected * INCH)
    assert said["label"].down


@pytest.mark.parametrize(
    ("archer", "rate", "growth", "months"),
    [
        # The longest draw is 27 in: 1.5 in more than the archer's, at 1.5 in a year.
        pytest.param(model.archer(25.5), 1.5, "growing", 12, id="a year"),
        # Abbassi 1998 (read): boys grow 9.5 cm a year at most on average, 1.5 in of draw by the
        # trade's ratio of arm span: an inch lasts eight months.
        pytest.param(
            model.archer(26), 9.5 / 2.54 / 2.5, "growing", 8, id="an inch lasts eight months"
        ),
        pytest.param(model.archer(27), 1.5, "growing", 0, id="at the longest draw"),
        pytest.param(model.archer(27.1), 1.5, "already_outgrown", None, id="beyond it"),
        pytest.param(model.archer(26), 0.0, "not_growing", None, id="grown up"),
        pytest.param(model.archer(20), 0.1, "growing", MOST_SAFE_MONTHS, id="for ever so long"),
        pytest.param(Archer(arm_span=1.6), 1.0, "draw_is_an_estimate", None, id="estimate"),
    ],
)
@pytest.mark.parametrize("walked", [False, True], ids=["at once", "month by month"])
def test_months(archer, rate, growth, months, walked):
    # A floor that asks for nothing leads the other way to the same figure.
    chosen = with_rules(rule(lambda case: [rules.floor(0.1, "short")], gives=frozenset({"floor"})))
    said = only(
        label(
            [plain("s", 28)],
            archer=archer,
            growth_rate=rate * INCH,
            ruleset=chosen if walked else CORE,
        )
    )
    assert said["growth"] == growth
    assert said.get("safe_until_months") == months


@pytest.mark.parametrize(
    ("basis", "inches", "months"),
    [
        pytest.param("own_draw", 33, 11),
        pytest.param("at_28", 29.95, 35),
    ],
)
def test_a_bow_weighed_at_the_own_draw_pushes_harder_as_that_grows(basis, inches, months):
    """By hand: 26 lbf gain 26/13 lbf an inch, at 2 in a year 4 lbf.

    149.5 gr are 5 grains for 29.9 lbf, which is reached after 11.7 months. At 28 in the bow weighs
    so much at a draw of 29.95 in, after 35.7 months.
    """
    bow = Bow(kind="recurve", draw_weight=26 * POUND_FORCE, draw_weight_basis=basis)
    arrow = Arrow(length=34 * INCH, mass=149.5 * GRAIN)
    said = label([ClubSet(id="s", arrow=arrow)], bow, model.archer(24), growth_rate=2 * INCH)
    assert (only(said)["growth"], only(said)["safe_until_months"]) == ("growing", months)
    assert only(said)["longest_safe_draw"].value == pytest.approx(inches * INCH, abs=2 * TOLERANCE)


def test_no_months_without_a_rate():
    said = only(label([plain("s", 28)], archer=model.archer(26)))
    assert "growth" not in said
    assert "safe_until_months" not in said


def test_a_draw_that_a_clicker_does_not_reach_on_the_way_ends_the_months():
    # Up to 26 in the arrow is long enough without the clicker, from 28 in on it reaches it.
    bow = Bow(
        kind="recurve",
        rest_position=0.0,
        clicker_range=ClickerRange(near=0.5 * INCH, far=1.0 * INCH),
    )
    arrow = Arrow(length=27 * INCH, point=Point(exposed_length=0.25 * INCH))
    archer = model.archer(24, draw_control="clicker")
    said = only(label([ClubSet(id="s", arrow=arrow)], bow, archer, growth_rate=1.2 * INCH))
    # A label is read by those whose draw lies between as well.
    for name in ("longest_safe_draw", "label"):
        assert said[name].value == pytest.approx(26 * INCH)
    # 24 in to 26 in at a tenth of an inch a month
    assert (said["growth"], said["safe_until_months"]) == ("growing", 20)


@pytest.mark.parametrize("control", ["none", "clicker", "settled"])
@settings(max_examples=100)
@given(arrows(), st.integers(1, 5), st.sampled_from([0.0, 0.4]))
def test_every_draw_up_to_the_label_is_safe(control, arrow, far, rest):
    bow = Bow(
        kind="recurve",
        rest_position=rest * INCH,
        clicker_range=ClickerRange(near=INCH, far=far * INCH),
    )
    archer = Archer(draw_length_convention="to_pivot", draw_control=control)
    said = only(label([ClubSet(id="s", arrow=arrow)], bow, archer))
    if "label" not in said:
        return
    for below in (0.0, 0.004, 0.01, 0.02, 0.03, 0.05, 0.08, 0.12):
        draw = said["label"].value - below
        if draw >= 0.3:
            assert is_long_enough(trials_of(archer, bow, arrow, CONTEXT), draw - 2 * TOLERANCE)


def test_a_doubtful_floor_gives_no_label():
    said = label([plain("s", 28)], ruleset=RULESETS["missing"])
    one = only(said)
    assert said["status"] == one["status"] == "indeterminate"
    assert "label" not in one
    assert "longest_safe_draw" not in one
    assert one["longest_safe_draw_at_most"].down


def test_an_arrow_too_short_for_anybody():
    one = only(label([plain("s", 13)], archer=model.archer(25), growth_rate=0.01))
    assert "longest_safe_draw" not in one
    assert one["reason"].startswith("No draw is safe")
    assert one["growth"] == "no_safe_draw"


def test_what_limits_it_is_named():
    one = only(label([plain("s", 28)]))
    assert (one["limited_by"]["plugin"], one["limited_by"]["floor"]) == ("core", "bow-back")
    one = only(label([plain("s", 28)], ruleset=RULESETS["columns"]))
    assert one["limited_by"]["plugin"] == "local"
    # 85 mm past the draw to the pivot point, which is 1 3/4 in shorter than the standard draw
    assert one["longest_safe_draw"].value == pytest.approx(28 * INCH - 0.085 + 1.75 * INCH)


@pytest.mark.parametrize("name", ["core", "columns"])
@settings(max_examples=100)
@given(
    arrows(),
    quarters,
    st.sampled_from([0.0, 0.02, 0.05]),
    st.sampled_from(["none", "clicker", "settled"]),
    st.sampled_from([None, 4, 12]),
)
def test_each_month_that_is_said_to_be_safe_is(name, arrow, draw, rate, control, count):
    spread = {} if count is None else {"draw_variation": 0.004, "draw_count": count}
    archer = Archer(
        draw_length=draw - 2 * INCH,
        draw_length_convention="to_pivot",
        draw_control=control,
        **spread,
    )
    bow = Bow(
        kind="recurve",
        rest_position=0.0,
        clicker_range=ClickerRange(near=INCH, far=3 * INCH),
    )
    said = only(
        label([ClubSet(id="s", arrow=arrow)], bow, archer, RULESETS[name], growth_rate=rate)
    )
    assert said["growth"] in get_args(Growth)
    months = said.get("safe_until_months", 0 if said["growth"] == "not_growing" else None)
    if months is None:
        return
    for month in {0, months // 2, months}:
        then = dataclasses.replace(archer, draw_length=archer.draw_length + month * rate / 12)
        fitting = Fitting(archer=then, bow=bow, arrow=arrow)
        outcome = evaluate(fitting, RULESETS[name], lengths_only=True)
        minimum = float(outcome.minimum_usable + outcome.facts.sleeve)
        assert arrow.length >= minimum - 2 * TOLERANCE


def test_faults_point_at_the_set():
    sets = [plain("a", 28), plain("a", 29), plain("b", 29, mass_spread=0.001)]
    with pytest.raises(FittingError) as caught:
        label(sets)
    assert [fault.path for fault in caught.value.faults] == [
        ("sets", 0, "id"),
        ("sets", 1, "id"),
        ("sets", 2, "arrow", "mass"),
    ]


def test_racks_of_an_evening_can_be_labelled():
    sets = [rack("s", 28), rack("t", 29)]
    assert [one["set"] for one in label(sets)["labels"]] == ["s", "t"]


@pytest.mark.parametrize(
    ("control", "words"), [("none", cautions.FEW_DRAWS), ("clicker", cautions.MOVED_BLADE)]
)
def test_cautions_that_hang_on_the_control_are_said(control, words):
    bow = Bow(
        kind="recurve", rest_position=0.0, clicker_range=ClickerRange(near=INCH, far=6 * INCH)
    )
    arrow = Arrow(length=28 * INCH, point=Point(exposed_length=0.5 * INCH))
    archer = model.archer(28, draw_control=control)
    said = label([ClubSet(id="s", arrow=arrow)], bow, archer)
    assert words in msgspec.json.decode(said["cautions"])
