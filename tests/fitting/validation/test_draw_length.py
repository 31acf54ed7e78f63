"""Draw length against the standard and the figures of the trade."""

from __future__ import annotations

import pytest

from drawmark.fitting import limits
from drawmark.fitting.draw.draw_length import estimate_from_arm_span, spread_of
from drawmark.fitting.facts import facts_of
from drawmark.fitting.model import Archer, Bow, Fitting
from drawmark.fitting.units import INCH
from drawmark.fitting.window import window_of

RECURVE = Bow(kind="recurve")


def test_amo_worked_example():
    """AMO Standards, Field Publication FP-3 (2000), read: 26 1/4 in to the pivot is 28 in."""
    standard = Archer(draw_length=28 * INCH, draw_length_convention="standard")
    pivot = Archer(draw_length=26.25 * INCH, draw_length_convention="to_pivot")
    assert f"{spread_of(standard, RECURVE).mean / INCH:.2f}" == "26.25"
    assert f"{(spread_of(pivot, RECURVE).mean + limits.STANDARD_OFFSET) / INCH:.2f}" == "28.00"


@pytest.mark.parametrize("back", [None, 1.75], ids=["usual bow", "front face stated"])
def test_general_use_to_the_back_of_the_bow(back):
    """AMO FP-3 (2000), read: in general use, from the nocking point to the back of the bow.

    Where the back lies 1 3/4 in past the pivot point, that is the 28 in of the worked example.
    """
    bow = Bow(kind="recurve", back_position=(back or 1.75) * INCH)
    convention = "standard" if back is None else "to_back"
    archer = Archer(draw_length=28 * INCH, draw_length_convention=convention)
    assert f"{spread_of(archer, bow).mean / INCH:.2f}" == "26.25"


def test_general_use_on_a_bow_of_another_depth():
    """A back 2 1/4 in past the pivot point makes it half an inch more: derived.

    It follows from the two definitions of AMO FP-3 (2000), read; that depth stands in neither.
    """
    bow = Bow(kind="recurve", back_position=2.25 * INCH)
    archer = Archer(draw_length=28.5 * INCH, draw_length_convention="to_back")
    standard = spread_of(archer, bow).mean + limits.STANDARD_OFFSET
    assert f"{standard / INCH:.2f}" == "28.00"


def test_offset_in_millimetres():
    """1 3/4 in of AMO FP-3 (read) is 44.45 mm, exact by definition of the inch."""
    assert f"{1000 * limits.STANDARD_OFFSET:.2f}" == "44.45"


@pytest.mark.parametrize(("span", "draw"), [(70, "28.0"), (75, "30.0")])
def test_draw_from_arm_span(span, draw):
    """Span / 2.5: common practice, no source."""
    standard = estimate_from_arm_span(span * INCH) + limits.STANDARD_OFFSET
    assert f"{standard / INCH:.1f}" == draw


def test_usual_overhang():
    """Draw length plus 1 to 2 in, plus 1.5 in as one figure: common practice, no source.

    That holds for archers who have settled; for beginners it is 2 to 3 in.
    """
    archer = Archer(
        draw_length=28 * INCH, draw_length_convention="standard", experience="practised"
    )
    window = window_of(facts_of(Fitting(archer=archer, bow=RECURVE)), RECURVE, None, 29 * INCH)
    assert window.figure is not None
    assert [f"{end / INCH:.1f}" for end in (window.shortest, window.figure, window.longest)] == [
        "29.0",
        "29.5",
        "30.0",
    ]


@pytest.mark.parametrize(
    ("pounds", "inches", "expected"),
    [
        pytest.param(40, 27, "38.0", id="2 lbf an inch at 40 lbf"),
        pytest.param(50, 27, "48.0", id="2 lbf an inch off"),
        pytest.param(50, 29, "53.0", id="3 lbf an inch on"),
    ],
)
def test_force_per_inch(pounds, inches, expected):
    """Two pounds an inch for bows up to 40 lbf, three above: secondary, common practice.

    The heavier end of that range is told: two off a shorter draw, three on to a longer one.
    """
    bow = Bow(kind="recurve", draw_weight=pounds * 4.4482216152605, draw_weight_basis="at_28")
    archer = Archer(draw_length=inches * INCH, draw_length_convention="standard")
    found = facts_of(Fitting(archer=archer, bow=bow)).draw_weight
    assert found is not None
    assert f"{found / 4.4482216152605:.1f}" == expected
