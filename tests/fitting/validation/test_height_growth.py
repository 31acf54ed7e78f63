"""Growth of juniors against the printed figures of published studies."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawmark.fitting.draw.height_growth import (
    BOYS,
    BOYS_MEAN_PEAK,
    GIRLS_MEAN_PEAK,
    draw_growth_by_age,
    estimate_draw_growth,
    height_velocity,
)
from drawmark.fitting.kit.safe_time import count_safe_months
from drawmark.fitting.units import INCH

# Tanner and Davies, height velocity of North American boys: read. Centimetres a year.
PRINTED = [
    (8, 3.93, 5.6, 7.23),
    (9, 3.78, 5.29, 6.82),
    (10, 3.7, 5.12, 6.53),
    (11, 3.69, 5.16, 6.58),
    (12, 4.02, 5.73, 7.33),
    (13, 6.15, 8.6, 11.25),
    (13.5, 7.1, 9.49, 11.9),
    (14, 6.05, 8.4, 10.7),
    (15, 2.35, 4.74, 7),
    (16, 0.4, 2.22, 4.1),
]


@pytest.mark.parametrize("printed", PRINTED, ids=[f"age {row[0]}" for row in PRINTED])
def test_printed_centiles(printed):
    """Height velocity of boys by Tanner and Davies: read."""
    row = {one.age: one for one in BOYS}[printed[0]]
    assert [round(100 * figure, 2) for figure in (row.low, row.median, row.high)] == list(
        printed[1:]
    )


def test_no_other_ages():
    assert [row.age for row in BOYS] == [row[0] for row in PRINTED]


@pytest.mark.parametrize(
    ("found", "printed"), [(BOYS_MEAN_PEAK, 9.5), (GIRLS_MEAN_PEAK, 8.3)], ids=["boys", "girls"]
)
def test_mean_peaks(found, printed):
    """Abbassi, Pediatrics 1998, 102(S3):507-511: read."""
    assert round(100 * found, 1) == printed


def test_default_covers_girls_where_the_boys_table_does_not():
    """The girls' mean peak at 11.5 lies above the boys' 97th centile there: read."""
    at_11, at_12 = ({row.age: row.high for row in BOYS}[age] for age in (11.0, 12.0))
    assert max(at_11, at_12) < GIRLS_MEAN_PEAK
    assert estimate_draw_growth(GIRLS_MEAN_PEAK / 12) < estimate_draw_growth()
    assert 12 * 2.5 * estimate_draw_growth() == pytest.approx(0.119)


def test_mean_peak_in_inches_of_draw():
    """Derived: 9.5 cm a year of height is 1.50 in of draw a year, 1 in about 8 months."""
    growth = estimate_draw_growth(BOYS_MEAN_PEAK / 12)
    assert round(12 * growth / INCH, 2) == 1.50
    safe = count_safe_months(longest_safe_draw=27 * INCH, draw=26 * INCH, growth_rate=growth)
    assert safe.months == math.floor(12 / 1.496) == 8


@pytest.mark.parametrize(
    ("age", "table", "printed"),
    [
        *[(row[0], "boys", row[1:]) for row in PRINTED],
        (12.5, "boys", (5.085, 7.165, 9.29)),  # Half way between 12 and 13.
        (18, "boys", (0.4, 2.22, 4.1)),  # The last age of the table is held.
        (7.9, "boys", (None, None, 11.9)),
        (10, "unknown", (None, None, 11.9)),
        (15.9, "unknown", (None, None, 11.9)),
        (16, "unknown", (None, None, 4.1)),
        (20, "boys", (0, 0, 0)),
        (40, "unknown", (0, 0, 0)),
    ],
)
def test_velocity_at_an_age(age, table, printed):
    row = height_velocity(age, table)
    found = [one if one is None else 100 * one for one in (row.low, row.median, row.high)]
    assert found == [one if one is None else pytest.approx(one) for one in printed]


@pytest.mark.parametrize(
    ("age", "months", "table", "centile", "centimetres_of_height"),
    [
        pytest.param(13, 6, "boys", "high", (11.25 + 11.9) / 2 / 2, id="half a year, the peak"),
        pytest.param(
            11, 24, "boys", "median", (5.16 + 5.73) / 2 + (5.73 + 8.6) / 2, id="two years"
        ),
        pytest.param(12, 12, "boys", "low", (4.02 + 6.15) / 2, id="slow"),
        pytest.param(7, 24, "boys", "high", 11.9 + (7.23 + 6.82) / 2, id="from before the table"),
        pytest.param(15, 24, "unknown", "high", 11.9 + 4.1, id="no table"),
        pytest.param(19, 36, "boys", "high", 4.1, id="grown up on the way"),
        pytest.param(30, 120, "unknown", "high", 0, id="an adult"),
        pytest.param(12, 0, "boys", "high", 0, id="no time"),
    ],
)
def test_growth_of_the_draw_by_age(age, months, table, centile, centimetres_of_height):
    """The printed velocities times the years, over 2.5: by hand."""
    found = draw_growth_by_age(age, months, table, centile)
    assert 100 * found == pytest.approx(centimetres_of_height / 2.5)


def test_no_median_without_a_table():
    assert draw_growth_by_age(12, 6, "unknown", "median") is None


@given(age=st.floats(5, 25), months=st.floats(0, 60), more=st.floats(0, 24))
def test_growth_never_falls_and_a_table_never_exceeds_the_conservative_figure(age, months, more):
    for table in ("boys", "unknown"):
        growth = draw_growth_by_age(age, months, table)
        assert draw_growth_by_age(age, months + more, table) >= growth - 1e-12
        assert growth <= draw_growth_by_age(age, months, "unknown") + 1e-12
