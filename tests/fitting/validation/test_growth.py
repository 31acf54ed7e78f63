"""Growth of juniors against the printed figures of published studies."""

import math

import pytest

from drawmark.fitting.kit.growth import (
    BOYS,
    BOYS_MEAN_PEAK,
    GIRLS_MEAN_PEAK,
    estimate_draw_growth,
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
