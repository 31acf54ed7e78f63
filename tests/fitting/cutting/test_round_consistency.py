import pytest

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
