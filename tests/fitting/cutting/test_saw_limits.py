import pytest

from drawmark.fitting import limits
from drawmark.fitting.cutting.ideal_length import infer_ideal
from drawmark.fitting.cutting.saw_limits import Cutting, SawLimits, count_rounds
from fitting.cuts_at_hand import PRESENT, bare_shaft, respond, rounds


def saw(lowest=0.60, increment=None, **options):
    return SawLimits(
        present=PRESENT, lowest=lowest, options=Cutting(**options), increment=increment
    )


def know(ideal, deviation=0.001, count=4):
    answer = respond(ideal)
    return rounds(*[(PRESENT, answer(PRESENT))] * count, deviation=deviation)


def infer(evidence):
    return infer_ideal(evidence, bare_shaft([PRESENT]))


def test_risk_of_the_next_length_is_within_the_risk():
    posterior = infer(know(0.70))
    for risk in (0.005, 0.02, 0.1):
        length = saw(risk=risk).next_length(posterior)
        assert posterior.probability_above(length + limits.CUT_TOLERANCE) <= risk + 1e-9


def test_more_risk_cuts_no_less():
    posterior = infer(know(0.73))
    lengths = [saw(risk=risk).next_length(posterior) for risk in (0.005, 0.02, 0.05, 0.2)]
    assert lengths == sorted(lengths, reverse=True)


def test_never_beyond_the_best_estimate():
    answer = respond(0.745)
    evidence = rounds(*((x, answer(x)) for x in (0.762, 0.78, 0.80)), deviation=1e-4)
    posterior = infer_ideal(evidence, bare_shaft([0.762, 0.80]))
    assert saw().next_length(posterior) >= posterior.quantile(0.5)


@pytest.mark.parametrize(
    ("changes", "shortest"),
    [
        pytest.param({"lowest": 0.755}, 0.755, id="floor"),
        pytest.param({"largest_step": 0.004}, PRESENT - 0.004, id="largest step"),
        pytest.param({}, PRESENT - limits.LARGEST_STEP, id="largest step of the project"),
    ],
)
def test_bounds_hold(changes, shortest):
    posterior = infer(know(0.68, deviation=0.0002))
    assert saw(**changes).next_length(posterior) >= shortest - limits.TOLERANCE


@pytest.mark.parametrize(
    ("length", "increment", "expected"),
    [
        (0.7401, 0.001, 0.741),
        (0.7400, 0.001, 0.740),
        (0.7400005, 0.001, 0.7400005),
        (0.7619, 0.005, 0.762),
        (0.7401, None, 0.7401),
    ],
)
def test_rounds_up_to_the_saw(length, increment, expected):
    assert saw(increment=increment).round_up(length) == pytest.approx(expected, abs=1e-12)


def test_sharper_rounds_are_needed_fewer():
    counts = []
    for deviation in (0.0035, 0.002, 0.001):
        evidence = know(0.7405, deviation, count=1)
        counts.append(count_rounds(infer(evidence), evidence[-1], saw()) or 99)
    assert counts == sorted(counts, reverse=True)
    assert counts[-1] < 99


def test_no_number_of_rounds_makes_a_tuned_arrow_longer():
    evidence = know(PRESENT)
    assert count_rounds(infer(evidence), evidence[-1], saw()) is None
