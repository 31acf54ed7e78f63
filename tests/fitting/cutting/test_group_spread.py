import pytest

from drawmark.fitting import limits
from drawmark.fitting.cutting.group_spread import estimate_deviation, range_factors


def test_many_widths_outweigh_the_default():
    width = 0.001 * range_factors(6)[0]
    assert estimate_deviation([(width, 6)] * 100) == pytest.approx(0.001, rel=0.06)


def test_one_lucky_group_does_not_make_a_sharp_archer():
    assert estimate_deviation([(0.0, 3)]) > 0.5 * limits.ARROW_DEVIATION


def test_range_of_one_is_refused():
    with pytest.raises(ValueError, match="two or more"):
        range_factors(1)
