import dataclasses

import numpy as np
import pytest

from drawmark.fitting.cutting.ideal_length import MOST_ROUNDS, infer_ideal
from drawmark.fitting.cutting.offsets import Evidence
from drawmark.fitting.cutting.spine_coordinate import Coordinate
from fitting.cuts_at_hand import PRESENT, bare_shaft, respond, rounds

LENGTHS = [0.762, 0.752, 0.742, 0.732]


def test_weights_are_probabilities():
    posterior = infer_ideal(rounds((0.762, 0.004)), bare_shaft([0.762]))
    assert posterior.weights.min() >= 0
    assert posterior.weights.sum() == pytest.approx(1)
    assert posterior.probability_above(0.0) == 1
    assert posterior.probability_above(2.0) == pytest.approx(0)


@pytest.mark.parametrize("ideal", [0.700, 0.720, 0.740, 0.765])
@pytest.mark.parametrize("deviation", [3e-3, 1e-3, 2e-4, 1e-6])
def test_exact_rounds_leave_the_ideal_inside_the_interval(ideal, deviation):
    answer = respond(ideal)
    evidence = rounds(*((x, answer(x)) for x in LENGTHS), deviation=deviation)
    posterior = infer_ideal(evidence, bare_shaft(LENGTHS))
    assert posterior.quantile(0.05) < ideal < posterior.quantile(0.95)


@pytest.mark.parametrize("sign", [1, -1])
def test_side_alone_moves_the_estimate_toward_it_and_less_than_centimetres_do(sign):
    side = Evidence(length=PRESENT, offset=0.0, deviation=0.001, sign=sign)
    grid = bare_shaft([PRESENT])
    alone = infer_ideal([side], grid)
    measured = infer_ideal(rounds((PRESENT, 0.006 * sign)), grid)
    middle, other = (
        infer_ideal([one], grid)
        for one in (
            Evidence(length=PRESENT, offset=0.0, deviation=0.1),
            dataclasses.replace(side, sign=-sign),
        )
    )
    assert sign * alone.quantile(0.5) < sign * middle.quantile(0.5) < sign * other.quantile(0.5)
    width = [each.quantile(0.95) - each.quantile(0.05) for each in (measured, alone, middle)]
    assert width[0] < width[1]


def test_systematic_error_widens_the_interval_however_many_rounds():
    evidence = rounds(*[(PRESENT, 0.0)] * MOST_ROUNDS, deviation=2e-4)
    posterior = infer_ideal(evidence, bare_shaft([PRESENT]))
    # 3 cm at 18 m are 5.7 mm of an arrow that answers with 1 m for a unit of log spine.
    assert posterior.quantile(0.84) - posterior.quantile(0.16) > 2 * 0.0045


@pytest.mark.parametrize("deviation", [1e-4, 1e-6, 1e-9])
def test_offsets_are_not_read_more_finely_than_they_can_be(deviation):
    fine = infer_ideal(rounds((0.762, 0.004), deviation=deviation), bare_shaft([0.762]))
    least = infer_ideal(rounds((0.762, 0.004), deviation=2e-4), bare_shaft([0.762]))
    assert np.array_equal(fine.weights, least.weights)


def test_more_rounds_narrow_the_interval():
    widths = []
    for count in (1, 2, 4, 8):
        evidence = rounds(*[(PRESENT, 0.004)] * count)
        posterior = infer_ideal(evidence, bare_shaft([PRESENT]))
        widths.append(posterior.quantile(0.95) - posterior.quantile(0.05))
    assert widths == sorted(widths, reverse=True)


def test_one_wild_round_hardly_moves_the_estimate():
    answer = respond(0.735)
    calm = [(x, answer(x)) for x in LENGTHS for _ in range(2)]
    before = infer_ideal(rounds(*calm), bare_shaft(LENGTHS)).quantile(0.5)
    after = infer_ideal(rounds(*calm, (0.742, 0.020)), bare_shaft(LENGTHS)).quantile(0.5)
    assert abs(after - before) < 0.003


def test_order_of_rounds_does_not_matter():
    evidence = rounds((0.762, 0.006), (0.752, 0.004), (0.742, 0.003))
    there = infer_ideal(evidence, bare_shaft(LENGTHS))
    back = infer_ideal(evidence[::-1], bare_shaft(LENGTHS))
    assert there.quantile(0.5) == pytest.approx(back.quantile(0.5), abs=1e-9)


def test_same_evidence_same_digits():
    evidence = rounds((0.762, 0.006), (0.752, 0.004))
    first, second = (infer_ideal(evidence, bare_shaft(LENGTHS)) for _ in range(2))
    assert np.array_equal(first.weights, second.weights)


def test_coordinate_shifted_as_a_whole_changes_nothing():
    evidence = rounds((0.762, 0.006), (0.752, 0.004))
    grid = bare_shaft(LENGTHS)
    moved = Coordinate(name="moved", lengths=grid.lengths, log_spine=grid.log_spine + 3.7)
    expected = infer_ideal(evidence, grid).quantile(0.3)
    assert infer_ideal(evidence, moved).quantile(0.3) == pytest.approx(expected, abs=1e-9)


def test_most_rounds_with_absurd_misfits_stay_finite():
    evidence = rounds(*[(0.762, 0.09), (0.752, -0.09)] * (MOST_ROUNDS // 2), deviation=1e-6)
    posterior = infer_ideal(evidence, bare_shaft(LENGTHS))
    assert np.all(np.isfinite(posterior.weights))


def test_a_round_as_expected_narrows_and_keeps_the_median():
    posterior = infer_ideal(rounds((0.762, 0.006), (0.752, 0.004)), bare_shaft(LENGTHS))
    further = Evidence(length=0.752, offset=posterior.expected_offset(0.752), deviation=0.0005)
    after = posterior.update(further)
    assert after.quantile(0.9) - after.quantile(0.1) < posterior.quantile(0.9) - posterior.quantile(
        0.1
    )
    assert after.quantile(0.5) == pytest.approx(posterior.quantile(0.5), abs=0.004)


@pytest.mark.parametrize(
    ("evidence", "words"),
    [
        pytest.param((), "no evidence", id="none"),
        pytest.param(rounds((0.3, 0.0)), "outside", id="outside the coordinate"),
        pytest.param(rounds(*[(0.762, 0.0)] * (MOST_ROUNDS + 1)), "more than", id="too many"),
    ],
)
def test_refusals(evidence, words):
    with pytest.raises(ValueError, match=words):
        infer_ideal(evidence, bare_shaft([0.762]))
