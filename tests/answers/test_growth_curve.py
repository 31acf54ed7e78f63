"""The draw, the minimum and the verdict of a growing archer month by month."""

import dataclasses
import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from answers.club.people import CONTEXT
from drawmark.answers.common.growth_curve import MOST_MONTHS, growth_curve_response
from drawmark.fitting.faults import FittingError
from drawmark.fitting.model import Archer, Arrow, Bow
from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE

RECURVE = Bow(kind="recurve")
JUNIOR = Archer(draw_length=24 * INCH, draw_length_convention="standard")

growths = st.one_of(
    st.fixed_dictionaries({"growth_rate": st.floats(0, 0.1)}),
    st.fixed_dictionaries(
        {"age": st.floats(4, 30), "growth_table": st.sampled_from(("boys", "unknown"))}
    ),
)


def curve(archer, inches=None, months=MOST_MONTHS, bow=RECURVE, mass=None):
    arrow = None if inches is None else Arrow(length=inches * INCH, mass=mass)
    return growth_curve_response(archer, bow, arrow, months, CONTEXT)["growth_curve"]


@pytest.mark.parametrize(
    ("archer", "field"),
    [
        pytest.param(JUNIOR, "growth_rate", id="nothing tells the growth"),
        pytest.param(Archer(arm_span=1.5, age=12), "draw_length", id="an estimate"),
    ],
)
def test_no_curve(archer, field):
    with pytest.raises(FittingError) as refused:
        curve(archer)
    assert refused.value.faults[0].path == ("archer", field)


def test_nothing_where_it_is_not_asked_for():
    assert growth_curve_response(JUNIOR, RECURVE, None, None, CONTEXT) == {}


@given(growth=growths, inches=st.floats(22, 32))
def test_the_minimum_never_falls_and_the_months_agree_with_the_verdicts(growth, inches):
    found = curve(dataclasses.replace(JUNIOR, **growth), inches)
    minimums = [row["minimum"].value for row in found["months"]]
    assert minimums == sorted(minimums)
    verdicts = [row["verdict"] for row in found["months"]]
    assert verdicts[found["check_by_month"]] == verdicts[0]
    assert found["check_by_month"] <= 3
    last = found.get("buy_by_month")
    if last is None:
        assert not {"stop", "indeterminate"} & set(verdicts)
    elif last == 0 and verdicts[0] == "stop":
        assert "pass" not in verdicts
    else:
        assert verdicts[last] in ("pass", "caution")
        assert verdicts[last + 1] in ("stop", "indeterminate")


@given(growth=st.floats(0, 0.1), more=st.floats(0, 0.1))
def test_faster_growth_never_gives_a_shorter_minimum(growth, more):
    slow, fast = (
        curve(dataclasses.replace(JUNIOR, growth_rate=rate))["months"]
        for rate in (growth, growth + more)
    )
    for one, two in zip(slow, fast, strict=True):
        assert one["minimum"].value <= two["minimum"].value


def measured(days, **growth):
    today = datetime.date(2026, 11, 30)
    past = today - datetime.timedelta(days=days)
    return dataclasses.replace(JUNIOR, measured_on=past, today=today, **growth)


@pytest.mark.parametrize(
    ("days", "check_by"),
    [
        pytest.param(0, 3, id="today"),
        pytest.param(20, 2, id="most of a month ago"),
        pytest.param(62, 0, id="two months ago and a day"),
        pytest.param(400, 0, id="a year ago"),
    ],
)
def test_a_draw_is_fresh_for_three_months_from_the_day_it_was_measured(days, check_by):
    assert curve(measured(days, growth_rate=0.01), 32)["check_by_month"] == check_by


@pytest.mark.parametrize(
    ("days", "buy_by"),
    [pytest.param(0, 11, id="measured today"), pytest.param(183, 5, id="half a year ago")],
)
def test_a_bow_weighed_at_the_own_draw_pushes_harder_as_that_grows(days, buy_by):
    """By hand: 26 lbf gain 26/13 lbf an inch, at 2 in a year 4 lbf.

    149.5 gr are 5 grains for 29.9 lbf, which is reached after 11.7 months.
    """
    bow = Bow(kind="recurve", draw_weight=26 * POUND_FORCE, draw_weight_basis="own_draw")
    found = curve(measured(days, growth_rate=2 * INCH), 34, bow=bow, mass=149.5 * GRAIN)
    assert found["buy_by_month"] == buy_by
