"""What the core works out of a fitting, and what it refuses."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders.model import BARRELLED, FULL, archer, column_of
from drawmark.fitting import limits
from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.launch import critical_launch_force
from drawmark.fitting.mechanics.weighing import front_of_centre, weigh
from drawmark.fitting.model import Archer, Arrow, Bow, ClickerRange, Fitting, Nock, Point, Shaft
from drawmark.fitting.units import INCH, POUND_FORCE

RECURVE = Bow(kind="recurve")
AT_28 = {"kind": "recurve", "draw_weight_basis": "at_28"}


def to_pivot(inches=26.25, **more):
    return archer(inches, draw_length_convention="to_pivot", **more)


def facts(who=None, bow=RECURVE, arrow=None):
    return facts_of(Fitting(archer=who or to_pivot(), bow=bow, arrow=arrow))


def test_least_that_can_be_known():
    found = facts()
    assert found.draw == found.longest_draw == pytest.approx(26.25 * INCH)
    assert (found.control, found.claimed, found.unshown) == ("none", "none", ())
    assert (found.allowance, found.growth, found.sleeve) == (INCH, 0.0, 0.0)
    assert (found.experience, found.experience_given) == ("learning", False)
    assert found.back == found.rest == limits.STANDARD_OFFSET
    assert not found.growth_given
    assert not found.refuted
    for name in ("usable_length", "draw_weight", "arrow_mass", "front_of_centre", "launch_load"):
        assert getattr(found, name) is None, name


@pytest.mark.parametrize(
    ("bow", "back", "rest"),
    [
        pytest.param(RECURVE, 1.75, 1.75, id="nothing given"),
        pytest.param(Bow(kind="other", back_position=INCH), 1.0, 1.0, id="a shallow bow"),
        pytest.param(Bow(kind="other", back_position=2.5 * INCH), 2.5, 2.5, id="a deep bow"),
        pytest.param(Bow(kind="other", rest_position=0.25 * INCH), 1.75, 0.25, id="a rest"),
        pytest.param(Bow(kind="other", rest_position=-INCH), 1.75, -1.0, id="an overdraw"),
        pytest.param(
            Bow(kind="other", rest_position=3 * INCH, back_position=2.5 * INCH),
            2.5,
            3.0,
            id="a rest ahead of the back",
        ),
    ],
)
def test_back_and_rest(bow, back, rest):
    found = facts(bow=bow)
    assert (found.back / INCH, found.rest / INCH) == pytest.approx((back, rest))


@pytest.mark.parametrize("many", [1, 2, 5, 6])
def test_draw_that_the_floors_stand_on_is_the_mean(many):
    draws = [one * INCH for one in (26.0, 26.2, 26.1, 26.3, 27.0, 26.0)[:many]]
    found = facts(Archer(draws=tuple(draws), draw_length_convention="to_pivot"))
    assert found.draw == pytest.approx(sum(draws) / many)
    assert found.longest_draw == max(draws)
    assert found.draw + found.allowance >= max(draws) - 1e-12


def test_older_name_of_the_draw_warns():
    with pytest.warns(DeprecationWarning, match="Use draw"):
        assert facts().mean_draw == facts().draw


def test_a_rest_from_a_pivot_point_that_is_not_known_may_lie_at_the_back_of_the_bow():
    bow = Bow(kind="recurve", rest_position=0.25 * INCH)
    found = facts(archer(28, draw_length_convention="to_back"), bow)
    assert found.rest == found.back == limits.STANDARD_OFFSET
    assert not found.rest_given
    assert found.draw_slack == limits.STANDARD_OFFSET
    # One ahead of where the back was assumed, with the pivot point as far back as it may be.
    ahead = facts(
        archer(28, draw_length_convention="to_back"), Bow(kind="recurve", rest_position=2 * INCH)
    )
    assert ahead.rest == pytest.approx((2 + 1.75 + 1) * INCH - 0.010)
    placed = dataclasses.replace(bow, back_position=INCH)
    found = facts(archer(28, draw_length_convention="to_back"), placed)
    assert (found.rest / INCH, found.back / INCH) == pytest.approx((0.25, 1.0))
    assert (found.rest_given, found.draw_slack) == (True, 0.0)


@pytest.mark.parametrize(
    ("pounds", "inches", "least", "most"),
    [
        # 2 to 3 lbf an inch from 40 lbf up (read at second hand); a 20th to a 13th below (default)
        pytest.param(30, 28, 30, 30, id="as measured"),
        pytest.param(18, 24, 18 - 4 * 18 / 13, 18 - 4 * 18 / 20, id="a child's bow"),
        pytest.param(30, 24, 30 - 4 * 30 / 13, 24, id="at a club's limit of 24 lbf"),
        pytest.param(30, 30, 33, 30 + 2 * 30 / 13, id="a longer draw"),
        pytest.param(50, 26, 44, 46, id="a heavy bow"),
        pytest.param(50, 30, 54, 56, id="a heavy bow at a longer draw"),
        pytest.param(40, 27, 37, 38, id="from 40 lbf the trade's rule"),
        pytest.param(20, 14, 2, 6, id="some weight is left"),
    ],
)
def test_draw_weight_at_28_is_a_range(pounds, inches, least, most):
    bow = Bow(draw_weight=pounds * POUND_FORCE, **AT_28)
    found = facts(to_pivot(inches - 1.75), bow)
    weights = (found.least_draw_weight / POUND_FORCE, found.draw_weight / POUND_FORCE)
    assert weights == pytest.approx((least, most))
    own = facts(to_pivot(inches - 1.75), dataclasses.replace(bow, draw_weight_basis="own_draw"))
    assert own.draw_weight == own.least_draw_weight == bow.draw_weight


def test_draw_weight_at_a_draw_to_a_back_that_is_not_known_is_the_heaviest_it_may_be():
    bow = Bow(draw_weight=40 * POUND_FORCE, **AT_28)
    found = facts(archer(28, draw_length_convention="to_back"), bow)
    # 26.25 in to a pivot point 1 3/4 in behind the face, or 28 in to one at the face
    weights = (found.least_draw_weight / POUND_FORCE, found.draw_weight / POUND_FORCE)
    assert weights == pytest.approx((40, 40 + 1.75 * 3))


def test_peak_weight_of_a_compound_does_not_hang_on_the_draw():
    bow = Bow(kind="compound", draw_weight=60 * POUND_FORCE, draw_weight_basis="at_28")
    assert facts(to_pivot(23), bow).draw_weight == bow.draw_weight


def test_draw_weight_at_an_estimated_draw_is_that_four_inches_beyond():
    who = Archer(arm_span=70 * INCH)  # 28 in, standard
    found = facts(who, Bow(draw_weight=30 * POUND_FORCE, **AT_28))
    assert found.draw_weight / POUND_FORCE == pytest.approx(30 + 4 * 30 / 13)


@given(st.floats(0.4, 1.0), st.floats(50, 400), st.floats(0, 100))
def test_a_heavier_bow_is_never_taken_for_a_lighter_one(draw, weight, more):
    light, heavy = (
        facts(
            Archer(draw_length=draw, draw_length_convention="to_pivot"), Bow(draw_weight=w, **AT_28)
        )
        for w in (weight, weight + more)
    )
    assert light.draw_weight <= heavy.draw_weight


@pytest.mark.parametrize(
    ("inches", "now", "once_cut"),
    [
        pytest.param(33, "none", "clicker", id="a full shaft"),
        pytest.param(27, "clicker", "clicker", id="in reach"),
        pytest.param(26, "none", "none", id="too short for the blade, and nothing can be added"),
    ],
)
def test_a_shaft_too_long_for_the_clicker_can_still_be_cut(inches, now, once_cut):
    bow = Bow(
        kind="recurve", rest_position=0.0, clicker_range=ClickerRange(near=INCH, far=2 * INCH)
    )
    shaft = Arrow(length=inches * INCH, point=Point(exposed_length=0.7 * INCH))
    fitting = Fitting(archer=to_pivot(draw_control="clicker"), bow=bow, arrow=shaft)
    assert (facts_of(fitting).control, facts_of(fitting, uncut=True).control) == (now, once_cut)


def test_sleeve_is_no_usable_length():
    arrow = Arrow(length=29 * INCH, point=Point(sleeve_length=0.5 * INCH))
    found = facts(arrow=arrow)
    assert (found.usable_length / INCH, found.sleeve / INCH) == pytest.approx((28.5, 0.5))


BOW = Bow(kind="recurve", draw_weight=30 * POUND_FORCE, draw_weight_basis="own_draw")
MASS, MOMENT = weigh(FULL)


@pytest.mark.parametrize(
    ("arrow", "mass", "balance"),
    [
        pytest.param(FULL, MASS, front_of_centre(FULL.length, MOMENT / MASS), id="from parts"),
        pytest.param(
            dataclasses.replace(FULL, mass=0.03, balance_point=0.45),
            0.03,
            front_of_centre(FULL.length, 0.45),
            id="measured comes first",
        ),
        pytest.param(Arrow(mass=0.03), 0.03, None, id="mass alone"),
        pytest.param(
            Arrow(length=0.75, balance_point=0.45), None, front_of_centre(0.75, 0.45), id="balance"
        ),
        pytest.param(dataclasses.replace(FULL, length=None), None, None, id="no length"),
        pytest.param(dataclasses.replace(FULL, point=None), None, None, id="no point"),
    ],
)
def test_mass_and_balance(arrow, mass, balance):
    found = facts(bow=BOW, arrow=arrow)
    assert found.arrow_mass == (None if mass is None else pytest.approx(mass))
    assert found.front_of_centre == (None if balance is None else pytest.approx(balance))


@pytest.mark.parametrize("arrow", [FULL, BARRELLED], ids=["uniform", "barrelled"])
def test_launch_load(arrow):
    load = BOW.draw_weight / critical_launch_force(arrow)
    assert facts(bow=BOW, arrow=arrow).launch_load == pytest.approx(load, rel=1e-12)


@pytest.mark.parametrize(
    ("bow", "arrow"),
    [
        pytest.param(RECURVE, FULL, id="no draw weight"),
        pytest.param(BOW, dataclasses.replace(FULL, length=None), id="no length"),
        pytest.param(
            BOW, dataclasses.replace(FULL, shaft=Shaft(mass_per_length=0.01)), id="no spine"
        ),
        pytest.param(BOW, dataclasses.replace(FULL, point=None), id="no point"),
    ],
)
def test_no_launch_load_without_its_fields(bow, arrow):
    assert facts(bow=bow, arrow=arrow).launch_load is None


@pytest.mark.parametrize(
    ("fitting", "paths"),
    [
        pytest.param(Fitting(bow=RECURVE), ["archer"], id="no archer"),
        pytest.param(Fitting(archer=to_pivot()), ["bow"], id="no bow"),
        pytest.param(
            Fitting(archer=to_pivot(draws=(0.6, 0.7)), bow=RECURVE),
            ["archer.draws"],
            id="two draws",
        ),
        pytest.param(
            Fitting(
                archer=to_pivot(
                    draw_length=None, draws=(0.6, 0.7), draw_variation=0.01, draw_count=12
                ),
                bow=RECURVE,
            ),
            ["archer.draw_variation"],
            id="two spreads",
        ),
        pytest.param(
            Fitting(archer=to_pivot(draw_variation=0.01), bow=RECURVE),
            ["archer.draw_count"],
            id="spread of how many",
        ),
        pytest.param(
            Fitting(archer=to_pivot(draw_count=12), bow=RECURVE),
            ["archer.draw_variation"],
            id="how much spread",
        ),
        pytest.param(
            Fitting(archer=to_pivot(), bow=Bow(kind="recurve", draw_weight=100.0)),
            ["bow.draw_weight_basis"],
            id="weight at which draw",
        ),
        pytest.param(
            Fitting(archer=to_pivot(), bow=Bow(kind="recurve", draw_weight_basis="at_28")),
            ["bow.draw_weight"],
            id="basis of what",
        ),
        pytest.param(
            Fitting(
                archer=to_pivot(),
                bow=Bow(kind="recurve", clicker_range=ClickerRange(near=0.08, far=0.07)),
            ),
            ["bow.clicker_range"],
            id="a range turned round",
        ),
        pytest.param(
            Fitting(
                archer=to_pivot(), bow=RECURVE, arrow=Arrow(length=0.7, nock=Nock(projection=0.7))
            ),
            ["arrow.nock.projection"],
            id="an arrow that cannot be built",
        ),
        pytest.param(
            Fitting(
                archer=to_pivot(draw_count=12), bow=Bow(kind="recurve", draw_weight_basis="at_28")
            ),
            ["archer.draw_variation", "bow.draw_weight"],
            id="every fault at once",
        ),
    ],
)
def test_what_cannot_stand_together(fitting, paths):
    with pytest.raises(FittingError) as caught:
        facts_of(fitting)
    assert [".".join(fault.path) for fault in caught.value.faults] == paths


def test_one_arrow_of_a_column_that_cannot_be_built():
    lengths = np.array([0.7, 0.4])
    arrow = Arrow(length=lengths, balance_point=np.array([0.5, 0.5]))
    with pytest.raises(FittingError, match="balance_point"):
        facts(arrow=arrow)


def test_column_of_whole_arrows():
    arrows = [dataclasses.replace(FULL, length=inches * INCH) for inches in (26.0, 28.0, 31.5)]
    column = facts(bow=BOW, arrow=column_of(arrows))
    for at, arrow in enumerate(arrows):
        single = facts(bow=BOW, arrow=arrow)
        for name in ("usable_length", "arrow_mass", "front_of_centre", "launch_load"):
            assert getattr(column, name)[at] == pytest.approx(getattr(single, name), rel=1e-12)
