"""Which control counts, and the allowance that goes with it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from builders.model import CLICKER, POINT, archer
from drawmark.fitting.draw.control import control_of, exposed_of, tip_reaches
from drawmark.fitting.draw.draw_length import spread_of
from drawmark.fitting.draw.spread import allowance_for_spread
from drawmark.fitting.model import Arrow, Bow, Point
from drawmark.fitting.units import INCH

ARROW = Arrow(length=28 * INCH, point=POINT)
CLICKER_FIELDS = ("bow.rest_position", "bow.clicker_range", "arrow.point.exposed_length")


def claiming(control, **more):
    return archer(26.25, draw_length_convention="to_pivot", draw_control=control, **more)


def spread(deviation, count):
    return {"draw_variation": deviation, "draw_count": count}


def decide(who, bow=CLICKER, arrow=ARROW):
    return control_of(who, bow, arrow, spread_of(who, bow))


@pytest.mark.parametrize(
    ("who", "bow", "arrow", "counts", "unshown"),
    [
        pytest.param(claiming("none"), CLICKER, ARROW, "none", (), id="none"),
        pytest.param(
            claiming("settled"),
            CLICKER,
            ARROW,
            "none",
            ("archer.draws",),
            id="settled, not measured",
        ),
        pytest.param(
            claiming("settled", **spread(0.003, 11)),
            CLICKER,
            ARROW,
            "none",
            ("archer.draws",),
            id="settled, 11 draws",
        ),
        pytest.param(
            claiming("settled", **spread(0.003, 12)),
            CLICKER,
            ARROW,
            "settled",
            (),
            id="settled, 12",
        ),
        pytest.param(
            claiming("settled", draw_length=None, draws=(0.66,) * 12),
            CLICKER,
            ARROW,
            "settled",
            (),
            id="settled, 12 single draws",
        ),
        pytest.param(
            claiming("draw_stop", draw_length=None, arm_span=1.78),
            Bow(kind="compound"),
            ARROW,
            "none",
            ("archer.draw_length",),
            id="draw stop, on an arm span",
        ),
        pytest.param(
            claiming("settled", draw_length=None, arm_span=1.78, **spread(0.003, 12)),
            CLICKER,
            ARROW,
            "none",
            ("archer.draws",),
            id="settled, on an arm span",
        ),
        pytest.param(claiming("clicker"), CLICKER, ARROW, "clicker", (), id="clicker"),
        pytest.param(
            claiming("clicker"),
            CLICKER,
            Arrow(point=POINT),
            "clicker",
            (),
            id="clicker, arrow length open",
        ),
        pytest.param(
            claiming("clicker"),
            dataclasses.replace(CLICKER, rest_position=None),
            ARROW,
            "none",
            CLICKER_FIELDS[:1],
            id="clicker, no rest",
        ),
        pytest.param(
            claiming("clicker"),
            dataclasses.replace(CLICKER, clicker_range=None),
            ARROW,
            "none",
            CLICKER_FIELDS[1:2],
            id="clicker, no range",
        ),
        pytest.param(
            claiming("clicker"),
            CLICKER,
            Arrow(length=28 * INCH),
            "none",
            CLICKER_FIELDS[2:],
            id="clicker, no point",
        ),
        pytest.param(
            claiming("clicker"), Bow(kind="recurve"), None, "none", CLICKER_FIELDS, id="nothing"
        ),
        pytest.param(
            claiming("draw_stop"), Bow(kind="compound"), ARROW, "draw_stop", (), id="draw stop"
        ),
        *(
            pytest.param(
                claiming("draw_stop"), Bow(kind=kind), ARROW, "none", ("bow.kind",), id=f"on {kind}"
            )
            for kind in ("recurve", "barebow", "longbow", "traditional", "other")
        ),
    ],
)
def test_control_that_counts(who, bow, arrow, counts, unshown):
    control = decide(who, bow, arrow)
    assert (control.counts, control.unshown) == (counts, unshown)
    assert control.claimed == who.draw_control
    assert not control.refuted


@pytest.mark.parametrize(
    ("inches", "reaches"),
    [
        pytest.param(26.49, False, id="tip behind the nearest blade"),
        pytest.param(26.50, True, id="tip at the nearest"),
        pytest.param(27.5, True, id="between"),
        pytest.param(28.50, True, id="tip at the furthest"),
        pytest.param(28.51, False, id="tip past the furthest"),
    ],
)
def test_tip_against_the_blade(inches, reaches):
    arrow = Arrow(length=inches * INCH, point=POINT)
    assert tip_reaches(CLICKER, arrow, 26.25 * INCH) == reaches
    control = decide(claiming("clicker"), arrow=arrow)
    assert control.refuted == (not reaches)
    assert control.counts == ("clicker" if reaches else "none")
    assert control.unshown == ()


STOP = Bow(kind="compound")
ONE_INCH = 0.0254


@pytest.mark.parametrize(
    ("who", "bow", "allowance"),
    [
        # Least allowances are project defaults; an inch is the low end of common practice.
        pytest.param(claiming("none"), CLICKER, ONE_INCH, id="none, one draw"),
        pytest.param(claiming("none", **spread(0.0, 6)), CLICKER, ONE_INCH, id="none, alike"),
        # V of 10 and 5 mm as tabled, to a tenth of a millimetre: derived, scipy.stats
        pytest.param(claiming("none", **spread(0.01, 2)), CLICKER, 0.0449, id="none, two"),
        pytest.param(claiming("none", **spread(0.01, 6)), CLICKER, 0.0373, id="none, six"),
        pytest.param(claiming("none", **spread(0.01, 30)), CLICKER, 0.0316, id="none, thirty"),
        pytest.param(claiming("settled", **spread(0.001, 12)), CLICKER, 0.010, id="settled, least"),
        pytest.param(claiming("clicker"), CLICKER, 0.006, id="clicker, least"),
        pytest.param(claiming("clicker", **spread(0.005, 2)), CLICKER, 0.0208, id="clicker, two"),
        pytest.param(claiming("clicker", **spread(0.005, 12)), CLICKER, 0.0168, id="clicker, 12"),
        pytest.param(claiming("draw_stop"), STOP, 0.006, id="draw stop, least"),
        pytest.param(claiming("draw_stop", **spread(0.005, 5)), STOP, 0.0189, id="draw stop, five"),
        pytest.param(claiming("settled", **spread(0.02, 8)), CLICKER, 0.0705, id="unshown"),
        pytest.param(
            claiming("none", draw_length=None, arm_span=1.78, **spread(0.01, 12)),
            CLICKER,
            0.0339,
            id="beside an arm span",
        ),
    ],
)
def test_allowance(who, bow, allowance):
    assert decide(who, bow).allowance == pytest.approx(allowance, abs=0.00005)


@pytest.mark.parametrize(
    ("who", "vary"),
    [
        pytest.param(claiming("none"), False, id="one draw"),
        pytest.param(claiming("none", **spread(0.010, 2)), False, id="two that vary as usual"),
        pytest.param(claiming("none", **spread(0.015, 2)), True, id="two that vary widely"),
        pytest.param(claiming("none", **spread(0.030, 5)), True, id="five"),
        pytest.param(claiming("none", **spread(0.030, 6)), False, id="six are not few"),
        pytest.param(claiming("clicker", **spread(0.004, 3)), False, id="three at a clicker"),
        pytest.param(claiming("clicker", **spread(0.010, 3)), True, id="widely at a clicker"),
    ],
)
def test_few_draws_that_vary_widely(who, vary):
    assert decide(who).few_vary is vary


def test_column_in_which_few_draws_vary_for_some():
    who = claiming("none", draw_variation=np.array([0.01, 0.03]), draw_count=np.array([3.0, 3.0]))
    assert decide(who).few_vary.tolist() == [False, True]


def test_a_clicker_does_not_count_where_the_pivot_point_is_not_known():
    who = archer(28.0, draw_length_convention="to_back", draw_control="clicker")
    assert decide(who).unshown == ("bow.back_position",)
    placed = dataclasses.replace(CLICKER, back_position=1.75 * INCH)
    assert decide(who, placed).counts == "clicker"


@pytest.mark.parametrize("control", ["none", "settled"])
def test_a_draw_that_was_seen_is_allowed_for(control):
    draws = (0.66,) * 29 + (0.72,)
    found = decide(claiming(control, draw_length=None, draws=draws))
    assert found.counts == control
    mean = sum(draws) / 30
    base = {"none": 0.0254, "settled": 0.010}[control]
    predicted = allowance_for_spread(base, float(np.std(draws, ddof=1)), 30.0)
    assert predicted < 0.72 - mean
    assert found.allowance == pytest.approx(0.72 - mean, abs=1e-12)


def test_column_in_which_a_clicker_is_refuted_for_some_is_refused():
    lengths = np.array([27.5, 25.0]) * INCH
    with pytest.raises(ValueError, match="differ"):
        decide(claiming("clicker"), arrow=Arrow(length=lengths, point=POINT))


@pytest.mark.parametrize("arrow", [None, Arrow(), Arrow(point=Point(mass=0.006))])
def test_no_exposed_length(arrow):
    assert exposed_of(arrow) is None
