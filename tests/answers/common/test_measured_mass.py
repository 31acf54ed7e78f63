"""What was weighed and balanced, less what a cut takes."""

from __future__ import annotations

import dataclasses

import pytest

from drawmark.answers.common.measured_mass import carry_over
from drawmark.fitting.mechanics.arrow_parts import cut
from drawmark.fitting.mechanics.weighing import weigh
from drawmark.fitting.model import Arrow, Nock, Point, Shaft
from drawmark.fitting.units import GRAIN, INCH

PARTS = Arrow(
    length=30 * INCH,
    shaft=Shaft(mass_per_length=8 * GRAIN / INCH),
    point=Point(mass=100 * GRAIN),
    nock=Nock(mass=10 * GRAIN),
)
MASS = 350.0  # grains: 240 of shaft, 100 of point, 10 of nock
BALANCE = (240 * 15 + 100 * 30) / MASS  # inches from the bottom of the nock slot


def test_the_parts_are_what_the_table_takes_them_for():
    mass, moment = weigh(PARTS)
    assert (mass / GRAIN, moment / mass / INCH) == pytest.approx((MASS, BALANCE))


@pytest.mark.parametrize(
    ("mass", "balance"),
    [
        pytest.param(None, None, id="nothing measured"),
        pytest.param(360.0, None, id="weighed heavier"),
        pytest.param(340.0, None, id="weighed lighter"),
        pytest.param(None, 19.0, id="balanced"),
        pytest.param(MASS, BALANCE, id="as the parts add up"),
        pytest.param(365.0, 19.0, id="heavier, and balanced further ahead"),
        pytest.param(335.0, 18.6, id="lighter, and balanced further back"),
    ],
)
@pytest.mark.parametrize("length", [29.0, 26.0])
def test_a_cut_takes_the_shaft_and_draws_the_point_back(mass, balance, length):
    """Moments by hand: the tube cut off, 8 gr an inch, and the point that moves with the end."""
    measured = dataclasses.replace(
        PARTS,
        mass=None if mass is None else mass * GRAIN,
        balance_point=None if balance is None else balance * INCH,
    )
    found = carry_over(measured, cut(PARTS, length * INCH))
    whole, place = mass or MASS, balance or BALANCE
    off = 8 * (30 - length)
    moment = whole * place - off * (30 + length) / 2 - 100 * (30 - length)
    assert found.length == pytest.approx(length * INCH)
    if mass is None:
        assert found.mass is None
    else:
        assert found.mass / GRAIN == pytest.approx(whole - off)
    if balance is None:
        assert found.balance_point is None
    else:
        assert found.balance_point / INCH == pytest.approx(moment / (whole - off))


def test_without_parts_nothing_is_carried_over():
    arrow = Arrow(length=30 * INCH, mass=350 * GRAIN)
    after = Arrow(length=29 * INCH)
    assert carry_over(arrow, after) is after
