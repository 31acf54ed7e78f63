"""The rule of the plugin, by the public kit alone."""

import drawmark_junior_growth
import pytest

from drawmark.rules import testing

PLUGIN = testing.plugin(drawmark_junior_growth, "junior-growth")
# A 28 in draw with nothing else stated: 1 in past the back of the bow, the core's usual margin.
LEAST = 29.0


def floor(local, **words):
    """The floor that the plugin alone sets [m]."""
    return testing.judge(PLUGIN, inputs=local, **words).minimum_usable


@pytest.mark.parametrize(
    ("age", "months", "sex", "velocity"),
    [
        # Height velocity of boys, 97th centile, cm a year (Tanner and Davies).
        pytest.param(8.0, 6, "male", 7.23, id="the table's first row"),
        pytest.param(10.0, 0.1, "male", 6.53, id="a row"),
        pytest.param(12.0, 6, "male", (7.33 + 11.25) / 2, id="between rows the later end"),
        pytest.param(13.0, 12, "male", 11.9, id="the peak between two ends"),
        pytest.param(15.0, 6, "male", 7.0, id="past the peak the earlier end"),
        pytest.param(17.0, 6, "male", 4.1, id="past the table its last figure"),
        pytest.param(7.0, 6, "male", 11.9, id="before the table the largest"),
        pytest.param(11.0, 6, "female", 11.9, id="no table for girls"),
        pytest.param(11.0, 6, None, 11.9, id="not stated"),
        pytest.param(17.0, 6, None, 4.1, id="not stated, past the table"),
    ],
)
def test_growth_until_the_next_check(age, months, sex, velocity):
    local = {"age": age, "months": float(months)} | ({"sex": sex} if sex else {})
    # Draw grows like height / 2.5, if arm span grows like height (an assumption).
    grown = velocity / 100 / 2.5 * months / 12
    assert floor(local) == pytest.approx(LEAST * 0.0254 + grown)


def test_nine_and_a_half_centimetres_a_year_are_an_inch_and_a_half_of_draw():
    # Derived: 9.5 cm / 2.5 is 1.50 in, so 11.9 cm a year are 1.50 in times 11.9 / 9.5.
    year = floor({"age": 12.0, "months": 12.0}) - floor({"age": 12.0, "months": 0.0})
    assert year / 0.0254 == pytest.approx(1.50 * 11.9 / 9.5, abs=0.01)


@pytest.mark.parametrize(
    ("stated", "inches"), [("0.5 in", 0.937), ("0.937 in", 0.937), ("2 in", 2.0)]
)
def test_growth_that_is_stated_counts_once(stated, inches):
    # 11.9 cm a year for six months are 2.38 cm, 0.937 in.
    least = floor({"age": 12.0, "months": 6.0}, archer={"growth_allowance": stated})
    assert least == pytest.approx((LEAST + inches) * 0.0254, abs=2e-5)


def test_the_spread_of_the_draw_stays_in_it():
    wide = {"draw_variation": "20 mm", "draw_count": 6}
    # V of s = 20 mm and 6 draws on a base of 25.4 mm is 73.5 mm (derived with scipy.stats).
    behind = {"rest_position": "0 mm"}
    least = floor({"age": 12.0, "months": 6.0}, archer=wide, bow=behind)
    assert least == pytest.approx(28 * 0.0254 + 0.0735 + 0.0238, abs=1e-4)


def test_a_draw_stop_gets_a_caution_and_no_floor():
    stop = {"archer": {"draw_control": "draw_stop"}, "bow": {"kind": "compound"}}
    outcome = testing.judge(PLUGIN, inputs={"age": 12.0, "months": 6.0}, **stop)
    assert outcome.verdict == "caution"
    assert outcome.floors == ()
    assert testing.judge(PLUGIN, inputs={"age": 12.0, "months": 0.0}, **stop).verdict == "pass"


def test_who_is_no_junior_is_not_asked_about():
    outcome = testing.judge(PLUGIN)
    assert (outcome.floors, outcome.findings, outcome.not_checked) == ((), (), ())


def test_conformance():
    spoke = testing.conform(PLUGIN)
    assert all(spoke.values()), spoke
