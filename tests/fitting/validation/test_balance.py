"""Front of centre against worked figures."""

from __future__ import annotations

import pytest

from drawmark.fitting.balance import front_of_centre
from drawmark.fitting.units import INCH


@pytest.mark.parametrize(
    ("length", "balance_point", "printed"),
    [
        (28.5 * INCH, 18.0 * INCH, "13.158"),
        (0.724, 0.450, "12.155"),
        (0.700, 0.350, "0.000"),
    ],
    ids=["28.5 in, 18 in", "724 mm, 450 mm", "balanced in the middle"],
)
def test_worked_figures(length: float, balance_point: float, printed: str) -> None:
    """100 (A - L/2) / L: secondary, the text of ASTM F1435's formula was not read; derived."""
    assert f"{front_of_centre(length, balance_point):.3f}" == printed
