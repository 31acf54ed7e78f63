"""The rule of the plugin, by the public kit alone."""

import drawmark_junior_growth
import pytest

from drawmark.rules import testing

PLUGIN = testing.plugin(drawmark_junior_growth, "junior-growth")
# A 28 in draw with nothing else stated: 1 in past the back of the bow, the core's usual margin.
LEAST = 29.0


def floor(months, age=12.0, **words):
    """The floor that the plugin alone sets [m]."""
    archer = {"age": age, **words.pop("archer", {})}
    inputs = {"months": float(months)}
    return testing.judge(PLUGIN, inputs=inputs, archer=archer, **words).minimum_usable


@pytest.mark.parametrize(
    ("age", "months", "table", "centimetres"),
    [
        # Height velocity of boys, 97th centile, cm a year (Tanner and Davies); straight between.
        pytest.param(8.0, 6, "boys", (7.23 + 7.025) / 2 / 2, id="the table's first row"),
        pytest.param(12.0, 6, "boys", (7.33 + 9.29) / 2 / 2, id="between rows"),
        pytest.param(
            13.0,
            12,
            "boys",
            ((11.25 + 11.9) / 2 + (11.9 + 10.7) / 2) / 2,
            id="over the peak between two ends",
        ),
        pytest.param(15.0, 6, "boys", (7.0 + 5.55) / 2 / 2, id="past the peak"),
        pytest.param(17.0, 6, "boys", 4.1 / 2, id="past the table its last figure"),
        pytest.param(7.0, 6, "boys", 11.9 / 2, id="before the table the largest"),
        pytest.param(11.0, 6, None, 11.9 / 2, id="no table for girls"),
        pytest.param(17.0, 6, None, 4.1 / 2, id="no table, past its end"),
        pytest.param(30.0, 6, None, 0.0, id="grown up"),
    ],
)
def test_growth_until_the_next_check(age, months, table, centimetres):
    # Draw grows like height / 2.5, if arm span grows like height (an assumption).
    grown = centimetres / 100 / 2.5
    archer = {} if table is None else {"growth_table": table}
    assert floor(months, age, archer=archer) == pytest.approx(LEAST * 0.0254 + grown)


def test_a_known_rate_comes_before_the_age():
    rate = {"growth_rate": "40 mm"}
    assert floor(6, archer=rate) == pytest.approx(LEAST * 0.0254 + 0.020)


def test_nine_and_a_half_centimetres_a_year_are_an_inch_and_a_half_of_draw():
    # Derived: 9.5 cm / 2.5 is 1.50 in, so 11.9 cm a year are 1.50 in times 11.9 / 9.5.
    assert (floor(12) - floor(0)) / 0.0254 == pytest.approx(1.50 * 11.9 / 9.5, abs=0.01)


@pytest.mark.parametrize(
    ("stated", "inches"), [("0.5 in", 0.937), ("0.937 in", 0.937), ("2 in", 2.0)]
)
def test_growth_that_is_stated_counts_once(stated, inches):
    # 11.9 cm a year for six months are 2.38 cm, 0.937 in.
    least = floor(6, archer={"growth_allowance": stated})
    assert least == pytest.approx((LEAST + inches) * 0.0254, abs=2e-5)


def test_the_spread_of_the_draw_stays_in_it():
    wide = {"draw_variation": "20 mm", "draw_count": 6}
    # V of s = 20 mm and 6 draws on a base of 25.4 mm is 73.5 mm (derived with scipy.stats).
    least = floor(6, archer=wide, bow={"rest_position": "0 mm"})
    assert least == pytest.approx(28 * 0.0254 + 0.0735 + 0.0238, abs=1e-4)


def test_a_draw_stop_gets_a_caution_and_no_floor():
    stop = {"archer": {"age": 12.0, "draw_control": "draw_stop"}, "bow": {"kind": "compound"}}
    outcome = testing.judge(PLUGIN, inputs={"months": 6.0}, **stop)
    assert outcome.verdict == "caution"
    assert outcome.floors == ()
    assert testing.judge(PLUGIN, inputs={"months": 0.0}, **stop).verdict == "pass"


def test_what_is_missing_is_not_checked():
    outcome = testing.judge(PLUGIN, inputs={"months": 6.0})
    assert [one.fields for one in outcome.not_checked] == [("archer.age|archer.growth_rate",)]


def test_who_is_no_junior_is_not_asked_about():
    outcome = testing.judge(PLUGIN)
    assert (outcome.floors, outcome.findings, outcome.not_checked) == ((), (), ())


def test_conformance():
    spoke = testing.conform(PLUGIN)
    assert all(spoke.values()), spoke
