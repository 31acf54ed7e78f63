"""A small run of the worst worlds with loose bounds; the file beside this one gives the figures."""

import numpy as np
import pytest

from benchmarks.foreign_truth import (
    START,
    WORLDS,
    Archer,
    cut_centimetres,
    follow_plan,
    simulate,
    summarize,
)

FEW = 120
NAMED = {world.name: world for world in WORLDS}


@pytest.mark.long
@pytest.mark.parametrize(
    ("name", "times_stated", "least_coverage"),
    [
        pytest.param("concave response", 1.5, 0.8, id="concave"),
        pytest.param("saturating response", 1.5, 0.8, id="saturating"),
        pytest.param("sensitivity 2.5", 1.5, 0.8, id="sensitive"),
        pytest.param("single large errors", 1.5, 0.8, id="wild"),
        pytest.param("persistent error 5 cm", 3.0, 0.8, id="persistent"),
        pytest.param("contact step 8 cm", 3.0, 0.8, id="contact"),
        pytest.param("coach 5 cm off", 3.0, 0.0, id="coach"),
    ],
)
def test_cuts_go_too_far_hardly_more_often_than_stated(name, times_stated, least_coverage):
    """Bounds with three standard errors of so few archers."""
    outcomes = simulate(follow_plan, NAMED[name], FEW)
    plan = summarize(outcomes)
    cuts = sum(len(each.cuts) for each in outcomes)
    bound = times_stated * plan.stated
    assert plan.realised <= bound + 3 * np.sqrt(bound / cuts)
    share = least_coverage * (1 - least_coverage) / FEW
    assert plan.coverage >= least_coverage - 3 * np.sqrt(share)


@pytest.mark.long
def test_no_more_rounds_than_centimetres_take_where_all_is_well():
    plan, fixed = (
        summarize(simulate(policy, NAMED["all well"], FEW))
        for policy in (follow_plan, cut_centimetres)
    )
    assert plan.rounds <= fixed.rounds
    assert plan.beyond < fixed.beyond / 10


def test_same_seeds_same_outcomes():
    world = NAMED["contact step 8 cm"]
    assert simulate(follow_plan, world, 3) == simulate(follow_plan, world, 3)


def offset(name, past):
    archer = Archer(NAMED[name], 7)
    return archer.offset_at(archer.ideal + past) / archer.slope


@pytest.mark.parametrize(
    ("name", "past", "as_if"),
    [
        pytest.param("all well", 0.030, 0.030, id="straight"),
        pytest.param("concave response", 0.030, 0.030, id="concave: as straight at 30 mm"),
        pytest.param("concave response", 0.003, 0.006, id="concave: steep near the ideal"),
        pytest.param("saturating response", 0.090, 0.0285, id="saturating: flat far above"),
    ],
)
def test_worlds_are_what_they_are_called(name, past, as_if):
    assert offset(name, past) == pytest.approx(as_if, abs=1e-4)


def test_errors_are_what_they_are_called():
    plain, touching, coached = (
        Archer(NAMED[name], 3) for name in ("all well", "contact step 8 cm", "coach 5 cm off")
    )
    weak, near = plain.ideal + 0.011, plain.ideal - 0.001
    assert touching.offset_at(weak) - plain.offset_at(weak) == pytest.approx(0.08)
    assert touching.offset_at(near) == plain.offset_at(near)
    assert coached.offset_at(near) - plain.offset_at(near) == pytest.approx(0.05)
    narrow = Archer(NAMED["halved width"], 3).shoot(START, 0)
    assert narrow.group_width == pytest.approx(
        Archer(NAMED["all well"], 3).shoot(START, 0).group_width / 2
    )
