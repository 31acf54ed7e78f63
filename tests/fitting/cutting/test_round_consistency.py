import pytest

from drawmark.fitting.cutting.offsets import Evidence
from drawmark.fitting.cutting.round_consistency import find_contradiction, rounds_agree
from fitting.cuts_at_hand import PRESENT, rounds


@pytest.mark.parametrize(
    ("pairs", "contradicts"),
    [
        pytest.param([(0.762, 0.005)], False, id="one round"),
        pytest.param([(0.762, 0.008), (0.752, 0.005), (0.742, 0.003)], False, id="falls"),
        pytest.param([(0.762, 0.005), (0.752, 0.006)], False, id="rises within the noise"),
        pytest.param([(0.762, 0.002), (0.752, 0.010)], True, id="rises far beyond the noise"),
        pytest.param(
            [(0.762, 0.004), (0.752, 0.007), (0.742, 0.010), (0.732, 0.013)],
            True,
            id="rises again and again: folded back",
        ),
        pytest.param(
            [(0.762, 0.006), (0.762, 0.006), (0.762, 0.020), (0.762, 0.005)],
            False,
            id="one wild round among four",
        ),
        pytest.param([(0.762, 0.012), (0.762, -0.012)], True, id="two that exclude each other"),
        pytest.param([(0.762, 0.2)], True, id="absurd"),
        pytest.param([(0.762, -0.2)], True, id="absurd the other way"),
    ],
)
def test_contradiction(pairs, contradicts):
    assert (find_contradiction(rounds(*pairs)) is not None) is contradicts


def sided(length, sign, deviation=0.001):
    return Evidence(length=length, offset=0.0, deviation=deviation, sign=sign, by_side=True)


@pytest.mark.parametrize(
    ("pairs", "sides", "contradicts"),
    [
        pytest.param([], [(0.762, 1)], False, id="one side"),
        pytest.param([], [(0.762, 1), (0.752, -1)], False, id="weak, then stiff"),
        pytest.param([], [(0.762, -1), (0.752, 1)], False, id="reversed: both may be near nothing"),
        pytest.param([], [(0.762, 1), (0.762, -1)], False, id="both at one length"),
        pytest.param([(0.762, 0.006)], [(0.752, -1)], False, id="weak, then stiff when shorter"),
        pytest.param([(0.752, 0.008)], [(0.762, -1)], True, id="weak, but stiff when longer"),
        pytest.param([(0.752, 0.008)], [(0.752, -1)], True, id="weak and stiff at one length"),
        pytest.param([(0.752, 0.002)], [(0.762, -1)], False, id="the same within the noise"),
        pytest.param([(0.762, -0.008)], [(0.752, 1)], True, id="stiff, but weak when shorter"),
    ],
)
def test_side_alone_contradicts_only_what_lies_on_the_other_side(pairs, sides, contradicts):
    evidence = (*rounds(*pairs), *(sided(*side) for side in sides))
    assert (find_contradiction(evidence, "right") is not None) is contradicts


def test_sides_alone_that_fit_the_other_hand_name_the_hand():
    evidence = (*rounds((0.762, 0.010), (0.752, 0.007)), sided(0.772, -1), sided(0.768, -1))
    found = find_contradiction(evidence, "left")
    assert "left string hand" in found.reason
    assert found.rounds_needed is None


def test_side_alone_confirms_no_round():
    assert not rounds_agree((*rounds((PRESENT, 0.001)), sided(PRESENT, 1)), PRESENT)


def test_order_of_shooting_does_not_matter():
    pairs = [(0.762, 0.002), (0.752, 0.010), (0.742, 0.001)]
    assert find_contradiction(rounds(*pairs)) == find_contradiction(rounds(*reversed(pairs)))


@pytest.mark.parametrize(
    ("pairs", "agree"),
    [
        pytest.param([(PRESENT, 0.001)], False, id="one round"),
        pytest.param([(PRESENT, 0.001), (PRESENT, 0.002)], True, id="two alike"),
        pytest.param([(PRESENT, 0.001), (PRESENT, 0.006)], False, id="two unlike"),
        pytest.param([(0.77, 0.001), (PRESENT, 0.002)], False, id="one before the last cut"),
        pytest.param(
            [(0.77, 0.009), (PRESENT, 0.001), (PRESENT, 0.002)], True, id="last two count"
        ),
    ],
)
def test_agreement(pairs, agree):
    assert rounds_agree(rounds(*pairs), PRESENT) is agree
