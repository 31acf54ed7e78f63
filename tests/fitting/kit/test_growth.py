"""Growth of draw length by age; the printed figures are checked in validation."""

import pytest

from drawmark.fitting.kit.growth import BOYS, estimate_boys_draw_growth, estimate_draw_growth


@pytest.mark.parametrize(
    ("age", "months", "row"),
    [
        pytest.param(8, 0, 8, id="a row itself"),
        pytest.param(8.5, 0, 8, id="between two rows the faster counts"),
        pytest.param(12.0, 12, 13, id="the year ahead"),
        pytest.param(12.1, 12, 13.5, id="the peak enclosed"),
        pytest.param(12.5, 0, 13, id="the next row when growth gains"),
        pytest.param(14.5, 12, 14, id="the row before when growth slows"),
        pytest.param(16, 12, 16, id="beyond the table growth slows"),
        pytest.param(9, 84, 13.5, id="the whole table"),
    ],
)
def test_fastest_enclosing_row_counts(age, months, row):
    high = {one.age: one.high for one in BOYS}[row]
    assert estimate_boys_draw_growth(age, months) == pytest.approx(high / 12 / 2.5)


def test_default_is_as_fast_as_the_table_ever_is():
    assert estimate_draw_growth() == pytest.approx(
        max(estimate_boys_draw_growth(one.age) for one in BOYS)
    )


@pytest.mark.parametrize(("age", "months"), [(7.9, 12), (16.1, 12), (float("nan"), 12), (12, -1)])
def test_what_the_table_does_not_hold_is_refused(age, months):
    with pytest.raises(ValueError, match=r"the table holds|negative"):
        estimate_boys_draw_growth(age, months)
