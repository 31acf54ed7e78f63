"""Where the blade goes after a change, and what the bow does to a longer draw."""

import datetime
from types import MappingProxyType

import pytest

from answers.club.people import CONTEXT
from builders.wire import arrow, q
from drawmark.answers.clicker import ClickerChanges, Request, answer
from drawmark.fitting.faults import FittingError
from drawmark.fitting.model import Archer, Arrow, Bow, Point
from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE

SHOT = Arrow(length=28 * INCH, point=Point(mass=90 * GRAIN, exposed_length=0.75 * INCH))


def move(changes, bow=None, shot=SHOT, draw=28, growing=MappingProxyType({}), **more):
    who = Archer(draw_length=draw * INCH, draw_length_convention="standard", **growing)
    what = bow or Bow(kind="recurve")
    changed = ClickerChanges(**changes)
    return answer(Request(archer=who, bow=what, arrow=shot, changes=changed, **more), CONTEXT)


@pytest.mark.parametrize(
    ("changes", "inches", "lands"),
    [
        pytest.param({}, 0, "same", id="nothing"),
        pytest.param({"length": 27.5 * INCH}, -0.5, "higher", id="a cut"),
        pytest.param({"point_mass": 100 * GRAIN}, 0, "lower", id="a heavier point"),
        pytest.param({"point_mass": 80 * GRAIN}, 0, "higher", id="a lighter point"),
        pytest.param({"draw_length": 28.5 * INCH}, -0.5, "higher", id="a longer draw"),
        pytest.param({"draw_length": 27.5 * INCH}, 0.5, "lower", id="a shorter draw"),
        pytest.param(
            {"length": 27.5 * INCH, "point_mass": 100 * GRAIN}, -0.5, "either", id="both ways"
        ),
        pytest.param({"exposed_length": 0.5 * INCH}, -0.25, "same", id="a shorter tip"),
    ],
)
def test_move_and_sight(changes, inches, lands):
    found = move(changes)
    assert found["move"].value / INCH == pytest.approx(inches, abs=1e-9)
    assert found["sight"]["arrow_lands"] == lands


def test_a_blade_that_stands_elsewhere_moves_from_there():
    found = move({"length": 27.5 * INCH}, blade_position=2.2 * INCH)
    assert found["move"].value / INCH == pytest.approx(27.5 + 0.75 - 26.25 - 2.2)
    assert found["draw_if_not_moved"].value / INCH == pytest.approx(27.5 + 0.75 - 2.2 + 1.75)


def test_a_point_of_unknown_mass_may_land_either_way():
    shot = Arrow(length=28 * INCH, point=Point(exposed_length=0.75 * INCH))
    assert move({"point_mass": 100 * GRAIN}, shot=shot)["sight"]["arrow_lands"] == "either"


def test_nothing_can_be_added_to_an_arrow():
    with pytest.raises(FittingError) as refused:
        move({"length": 29 * INCH})
    assert refused.value.faults[0].path == ("changes", "length")


def test_the_place_of_the_pivot_must_be_known(ask):
    body = {
        "archer": {"draw_length": q(26), "draw_length_convention": "to_back"},
        "bow": {"kind": "recurve"},
        "arrow": arrow(28),
        "changes": {},
    }
    status, problem = ask("clicker", body)
    assert (status, problem["errors"][0]["pointer"]) == (422, "#/bow/back_position")


def test_a_bow_pushes_harder_at_a_longer_draw():
    """30 lbf and 4 in at the stricter slope, 30/13 an inch: 39.2 lbf, at 5 grains 196: by hand."""
    bow = Bow(kind="recurve", draw_weight=30 * POUND_FORCE, draw_weight_basis="own_draw")
    shot = Arrow(
        length=32 * INCH, mass=190 * GRAIN, point=Point(mass=90 * GRAIN, exposed_length=0.02)
    )
    assert move({}, bow, shot, draw=24)["verdict"] != "stop"
    assert move({"draw_length": 28 * INCH}, bow, shot, draw=24)["verdict"] == "stop"
    # Of 4 in, 1 in has grown since the bow was weighed.
    growing = {
        "growth_rate": 1 * INCH,
        "measured_on": datetime.date(2025, 11, 30),
        "today": datetime.date(2026, 11, 30),
    }
    assert move({}, bow, shot, draw=24, growing=growing)["verdict"] != "stop"
    longer = move({"draw_length": 28 * INCH}, bow, shot, draw=24, growing=growing)
    assert longer["verdict"] == "stop"
