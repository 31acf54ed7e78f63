import math

import pytest

from drawmark.fitting import limits
from drawmark.fitting.cutting.offsets import Shots, read_shots
from drawmark.fitting.units import GRAIN


def shoot(**changes):
    given = {
        "length": 0.74,
        "offset": 0.09,
        "distance": 18.0,
        "bare_count": 3,
        "fletched_count": 6,
    }
    return Shots(**(given | changes))


@pytest.mark.parametrize(
    ("side", "hand", "sign"),
    [
        pytest.param(None, "right", 1, id="signed by the coach, right hand"),
        pytest.param(None, "left", 1, id="signed by the coach, left hand"),
        pytest.param("right", "right", 1, id="right of right: weak"),
        pytest.param("left", "right", -1, id="left of right: stiff"),
        pytest.param("left", "left", 1, id="left of left: weak"),
        pytest.param("right", "left", -1, id="right of left: stiff"),
    ],
)
def test_side_of_the_string_hand_is_weak(side, hand, sign):
    (found,) = read_shots([shoot(side=side)], string_hand=hand, release="fingers").evidence
    assert found.offset == pytest.approx(sign * 0.005)
    assert (found.sign, found.by_side) == (None, side is not None)


@pytest.mark.parametrize(
    ("side", "hand", "sign"),
    [("right", "right", 1), ("left", "right", -1), ("left", "left", 1), ("right", "left", -1)],
)
def test_side_alone_is_read_as_a_sign_without_centimetres(side, hand, sign):
    shots = [shoot(side=side, offset=None)]
    (found,) = read_shots(shots, string_hand=hand, release="fingers").evidence
    assert (found.offset, found.sign, found.by_side) == (0.0, sign, True)


def test_round_without_offset_and_side_is_refused():
    with pytest.raises(ValueError, match="offset and side"):
        read_shots([shoot(offset=None)])


@pytest.mark.parametrize(
    ("rounds", "refused"),
    [
        pytest.param([{}], False, id="not told"),
        pytest.param([{"point_mass": 100 * GRAIN}], False, id="the arrow's own"),
        pytest.param([{"point_mass": 0.0065}], False, id="the arrow's own, in rounded grams"),
        pytest.param([{"point_mass": 120 * GRAIN}, {}], True, id="another before, same setup"),
        pytest.param(
            [{"point_mass": 120 * GRAIN, "setup": "120 gr"}, {"setup": "100 gr"}],
            False,
            id="another before, a setup of its own",
        ),
        pytest.param([{}, {"point_mass": 120 * GRAIN}], True, id="another than the arrow's now"),
    ],
)
def test_changed_point_without_a_new_setup_is_found(rounds, refused):
    refusal = read_shots([shoot(**one) for one in rounds], point_mass=100 * GRAIN).refusal
    assert (refusal is not None) is refused
    if refused:
        place = next(n for n, one in enumerate(rounds) if one.get("point_mass") == 120 * GRAIN)
        assert f"`shots[{place}]`" in refusal
        assert "`setup`" in refusal


@pytest.mark.parametrize("release", ["aid", "thumb"])
def test_sides_are_read_for_fingers_only(release):
    assert (
        read_shots([shoot(side="left")], string_hand="right", release=release).refusal is not None
    )
    assert read_shots([shoot()], release=release).refusal is None


def test_offset_with_a_side_is_not_negative():
    shots = [shoot(side="left", offset=-0.01)]
    assert read_shots(shots, string_hand="right", release="fingers").refusal is not None


@pytest.mark.parametrize(
    "told", [{}, {"string_hand": "left"}, {"release": "fingers"}], ids=["none", "hand", "release"]
)
def test_side_is_not_read_without_hand_and_release(told):
    with pytest.raises(ValueError, match="hand"):
        read_shots([shoot(side="left")], **told)


def test_noise_follows_from_both_counts():
    reading = read_shots([shoot()])
    expected = reading.arrow_deviation * math.sqrt(1 / 3 + 1 / 6)
    assert reading.evidence[0].deviation == pytest.approx(expected)


def test_without_a_width_the_default_stands_alone():
    reading = read_shots([shoot()])
    assert reading.arrow_deviation == pytest.approx(limits.ARROW_DEVIATION)
    assert reading.widths == 0


def test_width_of_a_single_arrow_says_nothing():
    assert read_shots([shoot(group_width=0.0, fletched_count=1)]).widths == 0


def test_new_setup_starts_a_new_origin():
    reading = read_shots(
        [shoot(setup="soft"), shoot(setup="firm", offset=0.02), shoot(setup="firm")]
    )
    assert [each.offset * 18 for each in reading.evidence] == pytest.approx([0.02, 0.09])
    assert (reading.setup, reading.set_aside) == ("firm", 1)


def test_widths_of_earlier_setups_still_tell_the_archers_spread():
    reading = read_shots([shoot(setup="soft", group_width=0.3), shoot(setup="firm")])
    assert reading.widths == 1


def test_nothing_shot_is_refused():
    with pytest.raises(ValueError, match="no shots"):
        read_shots([])
