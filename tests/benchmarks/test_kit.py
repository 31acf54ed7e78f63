"""A whole club in time: limits far above what a quiet machine takes, in processor time."""

import itertools
import random
import time

import numpy as np
import pytest

from benchmarks.club import about
from drawmark.fitting.kit.assignment import assign_sets
from drawmark.fitting.kit.stock_lengths import choose_lengths
from drawmark.fitting.units import INCH
from drawmark.web import create_app
from drawmark.web.wire.installed_rules import installed_rules

CLUB = 500
MEMBERS = 2000


def measure(work, *args, **options):
    began = time.process_time()
    result = work(*args, **options)
    return result, time.process_time() - began


@pytest.mark.parametrize("capacity", [1, 4, CLUB])
@pytest.mark.parametrize("grid", [1e-6, INCH / 4, INCH], ids=["fine", "quarters", "whole inches"])
def test_five_hundred_archers_and_sets(grid, capacity):
    random = np.random.default_rng(7)
    needs = np.round(random.uniform(24, 31, CLUB) * INCH / grid) * grid
    lengths = np.round(random.uniform(25, 32, CLUB) * INCH / grid) * grid
    margin = lengths - needs[:, None]
    allowed = margin >= 0
    found, seconds = measure(
        assign_sets,
        allowed=allowed,
        passes=allowed & (margin >= INCH / 2),
        in_window=allowed & (margin <= INCH),
        margin=margin,
        launch_load=random.uniform(0.9, 2.2, (CLUB, CLUB)),
        capacity=np.full(CLUB, capacity),
    )
    assert sum(place is not None for place in found) > 0.9 * CLUB
    assert seconds < 5


def test_everyone_alike():
    alike = np.ones((CLUB, CLUB), dtype=bool)
    found, seconds = measure(
        assign_sets,
        allowed=alike,
        passes=alike,
        in_window=alike,
        margin=alike * 0.02,
        launch_load=alike * 1.3,
        capacity=np.ones(CLUB, dtype=np.int64),
    )
    assert found == tuple(range(CLUB))
    assert seconds < 5


@pytest.mark.parametrize("bound", [np.inf, INCH], ids=["unbounded", "bounded"])
def test_two_thousand_members_and_fifty_lengths(bound):
    random = np.random.default_rng(7)
    needs = random.uniform(22, 32, MEMBERS) * INCH
    arrows = random.integers(3, 13, MEMBERS)
    plan, seconds = measure(choose_lengths, needs, 50, longest=needs + bound, arrows=arrows)
    assert plan.waste is not None
    assert seconds < 0.5


def person(rng, shape):
    """An archer of one of three shapes: a draw, a clicker, or single draws."""
    draw, weight = rng.gauss(27, 1.5), about(rng.uniform(16, 40), "lbf")
    who = {"draw_length": about(draw), "draw_length_convention": "standard"}
    bow = {"kind": "recurve", "draw_weight": weight, "draw_weight_basis": "own_draw"}
    if shape == 1:
        who["draw_control"] = "clicker"
        bow |= {
            "rest_position": about(0.2),
            "clicker_range": {"near": about(0.9), "far": about(3.2)},
        }
    if shape == 2:
        del who["draw_length"]
        who["draws"] = [about(rng.gauss(draw, 0.2)) for _ in range(12)]
    return {"archer": who, "bow": bow}


def rack(rng, shape):
    """A set of one of three shapes: in full, weighed, or without vanes."""
    length, shaft = (
        about(rng.uniform(25, 33)),
        {"static_spine": about(rng.uniform(500, 1100), "astm")},
    )
    shaft["mass_per_length"] = about(rng.uniform(5.5, 7.5), "gr/in")
    point = {"mass": about(90, "gr"), "exposed_length": about(0.7)}
    vanes = {"mass": about(14, "gr"), "rear_edge": about(1.1), "length": about(1.75)}
    parts = {"shaft": shaft, "point": point, "nock": {"mass": about(9, "gr")}, "fletching": vanes}
    if shape == 1:
        parts = {"mass": about(rng.uniform(230, 380), "gr")}
    if shape == 2:
        parts = {"shaft": shaft, "point": point}
    return {"arrow": {"length": length, **parts}, "count": rng.choice((6, 8, 12))}


@pytest.mark.parametrize(
    ("archers", "sets"),
    [
        pytest.param([0], [0], id="alike"),
        pytest.param([0, 1], [0, 1, 2], marks=pytest.mark.long, id="of several shapes"),
        pytest.param([2], [0, 1, 2], marks=pytest.mark.long, id="single draws"),
    ],
)
def test_an_evening_of_five_hundred_over_the_wire(archers, sets):
    rng = random.Random(7)
    people = [person(rng, shape) for shape, _ in zip(itertools.cycle(archers), range(CLUB))]
    kinds = [rack(rng, shape) for shape, _ in zip(itertools.cycle(sets), range(CLUB))]
    body = {
        "archers": [{"id": str(at), **one} for at, one in enumerate(people)],
        "sets": [{"id": str(at), **one} for at, one in enumerate(kinds)],
        "arrows_per_archer": 6,
    }
    client = create_app(rules=installed_rules()).test_client()
    reply, seconds = measure(client.post, "/v1/kit/assignments", json=body)
    assert reply.status_code == 200
    assert reply.get_json()["equipped"] > 0.8 * CLUB
    assert seconds < 5
