import pytest

from drawmark.fitting import limits
from drawmark.fitting.cutting.next_cut import decide_cut
from drawmark.fitting.cutting.saw_limits import Cutting
from fitting.cuts_at_hand import PRESENT, bare_shaft, both_measures, read, respond, rounds


def decide(evidence, *, present=PRESENT, floor=0.60, coordinates=None, increment=None, **options):
    lengths = [each.length for each in evidence] + [present]
    return decide_cut(
        read(evidence),
        coordinates or both_measures(lengths),
        present=present,
        floor=floor,
        options=Cutting(**options),
        increment=increment,
    )


def shot_at(ideal, lengths, deviation=0.001):
    answer = respond(ideal)
    return rounds(*((x, answer(x)) for x in lengths), deviation=deviation)


LONG = shot_at(0.70, [PRESENT])
TUNED = shot_at(0.741, [0.762, 0.752, 0.742, 0.742])
STIFF = shot_at(0.80, [PRESENT] * 3)


@pytest.mark.parametrize(
    ("evidence", "changes", "word"),
    [
        pytest.param(LONG, {}, "cut", id="long and weak"),
        pytest.param(shot_at(0.735, [PRESENT], 0.0025), {}, "shoot_again", id="lost in the noise"),
        pytest.param(
            rounds((PRESENT, 0.006), deviation=0.006), {}, "shoot_again", id="one round, all noise"
        ),
        pytest.param(TUNED, {"present": 0.742}, "stop_here", id="tuned"),
        pytest.param(STIFF, {}, "already_too_stiff", id="reads stiff"),
        pytest.param(LONG, {"floor": PRESENT}, "at_the_floor", id="at the floor"),
        pytest.param(LONG, {"floor": 0.77}, "at_the_floor", id="below the floor already"),
        pytest.param(LONG, {"wanted_length": PRESENT}, "stop_here", id="at the wanted length"),
        pytest.param(
            rounds((0.762, 0.002), (0.752, 0.012)),
            {"present": 0.752},
            "shoot_again",
            id="offset grew as the arrow got shorter",
        ),
        pytest.param(
            rounds((0.762, 0.002), (0.752, 0.007), (0.742, 0.012), (0.732, 0.017)),
            {"present": 0.732},
            "indeterminate",
            id="offset grew again and again",
        ),
        pytest.param(
            rounds((PRESENT, -0.011), (PRESENT, 0.012)),
            {},
            "shoot_again",
            id="folded at one length",
        ),
        pytest.param(
            rounds((PRESENT, -0.011), (PRESENT, 0.012), (PRESENT, 0.0115), (PRESENT, 0.0125)),
            {},
            "cut",
            id="of four rounds one was wild",
        ),
        pytest.param(rounds((PRESENT, 0.2)), {}, "indeterminate", id="absurd"),
    ],
)
def test_decision(evidence, changes, word):
    assert decide(evidence, **changes).decision == word


def test_only_a_cut_names_a_length():
    for evidence, present in ((LONG, PRESENT), (TUNED, 0.742), (STIFF, PRESENT)):
        answer = decide(evidence, present=present)
        assert (answer.next_length is not None) is (answer.decision == "cut")


def test_cut_states_its_risk_and_its_interval():
    answer = decide(LONG)
    assert answer.probability_too_far <= limits.CUT_RISK * (1 + 1e-9)
    assert answer.ideal.low < answer.ideal.estimate < answer.ideal.high
    assert answer.ideal.low < 0.70 < answer.ideal.high


def test_shots_needed_are_those_of_the_rounds():
    answer = decide(shot_at(0.735, [PRESENT], 0.0025))
    assert answer.shots_needed == 6 * answer.rounds_needed > 0


def test_rounds_that_contradict_ask_for_as_many_as_show_which_is_wild():
    answer = decide(rounds((PRESENT, -0.011), (PRESENT, 0.012)))
    assert "Rounds at one length disagree" in answer.reason
    assert (answer.rounds_needed, answer.shots_needed) == (2, 12)


def test_set_follows_two_agreeing_rounds():
    assert decide(TUNED, present=0.742).set_may_follow
    assert not decide(TUNED[:3], present=0.742).set_may_follow
    assert not decide(LONG).set_may_follow


def test_safer_measure_decides():
    answer = decide(LONG)
    lengths = [each.next_length for each in answer.measures]
    assert [each.measure for each in answer.measures] == ["free_vibration", "launch"]
    assert answer.next_length == max(lengths)
    assert answer.measures_differ is (max(lengths) - min(lengths) > limits.SMALLEST_STEP)


def test_measures_that_decide_differently_say_so():
    steep, flat = (
        bare_shaft([PRESENT], 12.0, "free_vibration"),
        bare_shaft([PRESENT], 1.0, "launch"),
    )
    answer = decide(shot_at(0.741, [PRESENT], 0.0015), coordinates=(steep, flat))
    assert len({each.decision for each in answer.measures}) == 2
    assert answer.measures_differ
    assert (answer.decision, answer.next_length) == ("shoot_again", None)


def test_measures_alike_do_not_differ():
    twice = (bare_shaft([PRESENT]), bare_shaft([PRESENT], name="again"))
    assert not decide(LONG, coordinates=twice).measures_differ


def test_target_on_the_weak_side_leaves_the_arrow_longer():
    evidence = shot_at(0.72, [0.782, 0.772, PRESENT], 0.0003)
    plain = decide(evidence)
    weak = decide(evidence, target_offset=0.03)
    # 30 mm at 18 m is log(L / 0.72) = 0.03 / 4 for this archer: 5.4 mm longer.
    assert weak.ideal.estimate - plain.ideal.estimate == pytest.approx(0.0054, abs=0.0015)


def test_refused_reading_is_indeterminate():
    answer = decide_cut(
        read(LONG, refusal="cannot be read"),
        both_measures([PRESENT]),
        present=PRESENT,
        floor=0.6,
        options=Cutting(),
    )
    assert (answer.decision, answer.reason) == ("indeterminate", "cannot be read")
    assert answer.next_length is None


def test_cut_reaches_the_wanted_length_and_no_further():
    evidence = shot_at(0.70, [0.80, 0.78, PRESENT], 0.0003)
    assert decide(evidence, wanted_length=0.755).next_length == pytest.approx(0.755)
