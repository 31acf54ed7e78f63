"""Which control counts, and the allowance that goes with it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from builders.model import CLICKER, POINT, archer
from drawmark.fitting.draw.control import control_of, exposed_of, tip_reaches
from drawmark.fitting.draw.draw_length import prediction_factor, spread_of
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


K6, K12 = prediction_factor(6.0), prediction_factor(12.0)
STOP = Bow(kind="compound")


@pytest.mark.parametrize(
    ("who", "bow", "allowance"),
    [
        pytest.param(claiming("none"), CLICKER, 0.0, id="none, one draw"),
        pytest.param(claiming("none", **spread(0.01, 5)), CLICKER, 0.0, id="none, few"),
        pytest.param(claiming("none", **spread(0.01, 6)), CLICKER, K6 * 0.01, id="none, six"),
        pytest.param(claiming("none", **spread(0.0, 6)), CLICKER, 0.0, id="none, no spread"),
        pytest.param(claiming("settled", **spread(0.001, 12)), CLICKER, 0.010, id="settled, least"),
        pytest.param(
            claiming("settled", **spread(0.01, 12)), CLICKER, K12 * 0.01, id="settled, more"
        ),
        pytest.param(claiming("clicker"), CLICKER, 0.006, id="clicker, least"),
        pytest.param(claiming("clicker", **spread(0.002, 5)), CLICKER, 0.006, id="clicker, few"),
        pytest.param(
            claiming("clicker", **spread(0.002, 12)), CLICKER, K12 * 0.002, id="clicker, more"
        ),
        pytest.param(claiming("draw_stop"), STOP, 0.006, id="draw stop, least"),
        pytest.param(
            claiming("draw_stop", **spread(0.002, 12)), STOP, K12 * 0.002, id="stop, more"
        ),
        pytest.param(
            claiming("settled", **spread(0.01, 11)),
            CLICKER,
            prediction_factor(11.0) * 0.01,
            id="unshown",
        ),
        pytest.param(
            claiming("none", draw_length=None, arm_span=1.78, **spread(0.01, 12)),
            CLICKER,
            K12 * 0.01,
            id="beside an arm span",
        ),
    ],
)
def test_allowance(who, bow, allowance):
    assert decide(who, bow).allowance == pytest.approx(allowance, rel=1e-12)


@pytest.mark.parametrize("control", ["none", "settled"])
def test_a_draw_that_was_seen_is_allowed_for(control):
    draws = (0.66,) * 29 + (0.72,)
    found = decide(claiming(control, draw_length=None, draws=draws))
    assert found.counts == control
    assert found.allowance == pytest.approx(0.72 - sum(draws) / 30, abs=1e-12)


def test_column_in_which_a_clicker_is_refuted_for_some_is_refused():
    lengths = np.array([27.5, 25.0]) * INCH
    with pytest.raises(ValueError, match="differ"):
        decide(claiming("clicker"), arrow=Arrow(length=lengths, point=POINT))


@pytest.mark.parametrize("arrow", [None, Arrow(), Arrow(point=Point(mass=0.006))])
def test_no_exposed_length(arrow):
    assert exposed_of(arrow) is None
