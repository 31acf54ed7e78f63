"""Front of centre against worked figures."""

from __future__ import annotations

import pytest

from drawmark.fitting.mechanics.arrow_parts import tube_length
from drawmark.fitting.mechanics.weighing import front_of_centre, weigh
from drawmark.fitting.model import Arrow, Nock, Point, Shaft
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


@pytest.mark.parametrize(
    ("share", "printed"),
    [(0.0, "0.000"), (0.25, "10.000"), (1.0, "25.000")],
    ids=["no point", "a quarter of the shaft", "as heavy as the shaft"],
)
def test_balanced_complete_with_its_point(share: float, printed: str) -> None:
    """ASTM F1435, read: balanced complete with its point, on the arrow length.

    Figures derived: 50 s / (1 + s) per cent for a point of s times the shaft's mass at its end.
    """
    arrow = Arrow(
        length=0.7,
        shaft=Shaft(mass_per_length=0.02 / 0.7),
        point=Point(mass=share * 0.02),
        nock=Nock(mass=0.0),
    )
    mass, moment = weigh(arrow)
    assert f"{front_of_centre(0.7, moment / mass):.3f}" == printed


def test_length_begins_at_the_bottom_of_the_nock_slot() -> None:
    """ASTM F1435-04, 2.1.2, read: so a nock that stands out makes the tube shorter (derived)."""
    arrow = Arrow(length=29 * INCH, nock=Nock(projection=0.5 * INCH))
    assert f"{tube_length(arrow) / INCH:.2f}" == "28.50"
