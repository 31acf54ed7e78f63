"""The cut plan against order statistics, brute-force integration and its own invariances.

No published data of bare-shaft offset against arrow length was found, so nothing here says
that arrows behave as the plan assumes: only that the plan computes what it states.
"""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import cubature, dblquad, quad, simpson
from scipy.stats import norm
from scipy.stats import t as student

from drawmark.fitting import limits
from drawmark.fitting.cutting.group_spread import range_factors
from drawmark.fitting.cutting.ideal_length import infer_ideal, student_below
from drawmark.fitting.cutting.next_cut import decide_cut
from drawmark.fitting.cutting.offsets import Evidence, Shots, read_shots
from drawmark.fitting.cutting.planned_steps import plan_steps
from drawmark.fitting.cutting.saw_limits import Cutting
from drawmark.fitting.units import UNITS
from fitting.cuts_at_hand import PRESENT, bare_shaft, both_measures, read, respond, rounds

# Control chart factors as printed in tables of quality control, ASTM E2587 among them:
# from memory, not read again.
PRINTED = [
    (2, 1.128, 0.853),
    (3, 1.693, 0.888),
    (4, 2.059, 0.880),
    (5, 2.326, 0.864),
    (6, 2.534, 0.848),
    (7, 2.704, 0.833),
    (8, 2.847, 0.820),
    (9, 2.970, 0.808),
    (10, 3.078, 0.797),
    (15, 3.472, 0.756),
    (20, 3.735, 0.729),
    (25, 3.931, 0.708),
]


@pytest.mark.parametrize(("count", "mean", "spread"), PRINTED)
def test_range_factors_have_the_printed_digits(count, mean, spread):
    """Factors of control charts: from memory."""
    found = range_factors(count)
    assert found[0] == pytest.approx(mean, abs=0.00051)
    assert found[1] == pytest.approx(spread, abs=0.00051)


@pytest.mark.parametrize(
    ("count", "mean", "square"),
    [
        pytest.param(2, 2 / math.sqrt(math.pi), 2.0, id="two: difference of normals"),
        pytest.param(3, 3 / math.sqrt(math.pi), 2 + 3 * math.sqrt(3) / math.pi, id="three"),
    ],
)
def test_range_factors_in_closed_form(count, mean, square):
    """Exact order statistics of the normal; derived."""
    found = range_factors(count)
    assert found[0] == pytest.approx(mean, abs=1e-9)
    assert found[0] ** 2 + found[1] ** 2 == pytest.approx(square, abs=1e-9)


@pytest.mark.parametrize("count", [2, 3, 6, 12, 30, 60])
def test_range_factors_against_general_quadrature(count):
    """Integral of the range's distribution, by scipy.integrate.quad: derived."""
    mean, _ = quad(lambda x: 1 - norm.cdf(x) ** count - norm.sf(x) ** count, -10, 10)
    assert range_factors(count)[0] == pytest.approx(mean, abs=1e-9)


@pytest.mark.parametrize("count", [3, 6])
def test_second_moment_of_the_range_against_general_quadrature(count):
    """Integral over the joint density of the extremes, by scipy.integrate: derived."""

    def density(high, low):
        inside = norm.cdf(high) - norm.cdf(low)
        pair = count * (count - 1) * norm.pdf(low) * norm.pdf(high)
        return (high - low) ** 2 * pair * inside ** (count - 2)

    square, _ = dblquad(density, -6, 6, lambda low: low, 7, epsabs=1e-6)
    mean, spread = range_factors(count)
    assert mean**2 + spread**2 == pytest.approx(square, abs=1e-5)


MIDDLE = math.log(limits.SENSITIVITY)
REACH = 3 * limits.SENSITIVITY_DEVIATION
# The plan's five bends stand for a normal cut off half a step beyond the last.
BENDS = 2.5


def sided(length, sign, deviation=0.001):
    return Evidence(length=length, offset=0.0, deviation=deviation, sign=sign)


def test_closed_form_of_students_distribution():
    """Against scipy.stats: 5 degrees of freedom."""
    deviations = np.linspace(-40, 40, 801)
    assert student_below(deviations) == pytest.approx(student.cdf(deviations, 5), abs=1e-14)


CASES = [
    pytest.param(rounds((0.762, 0.006)), id="one round"),
    pytest.param(rounds((0.762, 0.011), deviation=0.002), id="one, far and noisy"),
    pytest.param(rounds((0.762, 0.008), (0.750, 0.005)), id="two"),
    pytest.param(rounds((0.762, -0.003), (0.762, -0.001)), id="stiff"),
    pytest.param(rounds((0.762, 0.006), (0.752, 0.013), (0.742, 0.002)), id="one is wild"),
    pytest.param((sided(0.762, 1),), id="weak, by a side alone"),
    pytest.param((*rounds((0.762, 0.006)), sided(0.742, -1)), id="then stiff, by a side alone"),
]


def density_of(evidence, power):
    """The stated priors and noise, written again: density of zero, log sensitivity, bend."""
    usual = max(each.length for each in evidence) - limits.IDEAL_EXPECTED_BELOW
    wild = limits.WILD_SHARE

    def density(zero, log_sensitivity, bend):
        prior = norm.pdf(zero, usual, limits.IDEAL_DEVIATION)
        prior = prior * norm.pdf(log_sensitivity, MIDDLE, limits.SENSITIVITY_DEVIATION)
        prior = prior * norm.pdf(bend, 0.0, limits.BEND_DEVIATION)
        means = [
            np.exp(log_sensitivity)
            * np.expm1(bend * power * np.log(each.length / zero))
            / np.where(bend == 0, 1, bend)
            + np.where(bend == 0, np.exp(log_sensitivity) * power * np.log(each.length / zero), 0)
            for each in evidence
        ]
        likely = 0.0
        for scale, share in limits.NOISE_SCALES:
            chance = share
            for each, mean in zip(evidence, means, strict=True):
                noise = student(5, mean, each.deviation * scale)
                if each.sign is None:
                    sound, far = noise.pdf(each.offset), limits.WILD_DENSITY
                else:
                    sound = noise.sf(0.0) if each.sign == 1 else noise.cdf(0.0)
                    far = 0.5
                chance = chance * ((1 - wild) * sound + wild * far)
            likely = likely + chance
        return prior * likely

    return density


def chance_below(length, zero, log_sensitivity, power):
    """Chance of a shorter ideal: the systematic error over the sensitivity lies between them."""
    past = np.exp(log_sensitivity) * power * np.log(length / zero)
    return norm.cdf(past / limits.SYSTEMATIC_DEVIATION)


@pytest.mark.parametrize("evidence", CASES)
@pytest.mark.parametrize("power", [4.0, 2.0])
def test_posterior_against_brute_force(evidence, power):
    """Simpson's rule on a grid a hundred times as dense as the plan's: derived."""
    coordinate = bare_shaft([each.length for each in evidence], power)
    zero = np.linspace(coordinate.lengths[0], coordinate.lengths[-1], 401)
    sensitivity = np.linspace(MIDDLE - REACH, MIDDLE + REACH, 81)
    bend = np.linspace(-BENDS, BENDS, 21)
    dense = density_of(evidence, power)(zero[:, None, None], sensitivity[:, None], bend)
    marginal = simpson(dense, x=bend, axis=2)
    lengths = np.linspace(coordinate.lengths[0] + 0.005, coordinate.lengths[-1] - 0.005, 60)
    below = [
        simpson(
            simpson(marginal * chance_below(x, zero[:, None], sensitivity, power), x=sensitivity),
            x=zero,
        )
        for x in lengths
    ]
    expected = np.array(below) / simpson(simpson(marginal, x=sensitivity), x=zero)
    posterior = infer_ideal(evidence, coordinate)
    found = np.array([1 - posterior.probability_above(length) for length in lengths])
    assert found == pytest.approx(expected, abs=0.01)
    for share in (0.05, 0.5, 0.95, 0.98):
        if expected[0] < share < expected[-1]:
            length = np.interp(share, expected, lengths)
            assert posterior.quantile(share) == pytest.approx(length, abs=0.002)


def test_posterior_against_adaptive_cubature():
    """The same integral by scipy.integrate.cubature: derived."""
    evidence = rounds((0.762, 0.011), deviation=0.002)
    coordinate = bare_shaft([0.762])
    density = density_of(evidence, 4.0)
    box = (
        [coordinate.lengths[0], MIDDLE - REACH, -BENDS],
        [coordinate.lengths[-1], MIDDLE + REACH, BENDS],
    )

    def integrate(weigh):
        return cubature(
            lambda at: density(*at.T) * weigh(*at.T), *box, rule="gk15", rtol=1e-3, atol=1e-3
        ).estimate

    whole = integrate(lambda zero, log, bend: 1.0)
    posterior = infer_ideal(evidence, coordinate)
    for length in (0.69, 0.71, 0.73):
        shorter = integrate(
            lambda zero, log, bend, length=length: chance_below(length, zero, log, 4.0)
        )
        assert 1 - posterior.probability_above(length) == pytest.approx(shorter / whole, abs=0.01)


def shots_of(offsets, **changes):
    return [
        Shots(
            **(
                {
                    "length": length,
                    "offset": offset,
                    "distance": 18.0,
                    "bare_count": 3,
                    "fletched_count": 6,
                    "group_width": 0.12,
                }
                | changes
            )
        )
        for length, offset in zip((0.762, 0.752, 0.744), offsets, strict=True)
    ]


def decide(shots, **hand):
    reading = read_shots(shots, **hand)
    lengths = [each.length for each in shots]
    return decide_cut(
        reading,
        both_measures(lengths),
        present=lengths[-1],
        floor=0.65,
        options=Cutting(),
        increment=0.001,
    )


MIRRORED = [(0.20, 0.15, 0.11), (0.08, 0.03, 0.01), (0.05, 0.12, 0.02)]


@pytest.mark.parametrize("offsets", MIRRORED)
@pytest.mark.parametrize("side", ["left", "right"])
def test_mirrored_hands_get_the_same_answer(offsets, side):
    other = {"left": "right", "right": "left"}[side]
    here = decide(shots_of(offsets, side=side), string_hand="right", release="fingers")
    there = decide(shots_of(offsets, side=other), string_hand="left", release="fingers")
    assert here == there


@pytest.mark.parametrize("offsets", MIRRORED)
def test_answer_is_the_same_in_inches(offsets):
    """Figures said in inches and feet, converted by the unit table, decide alike."""

    def reword(value, symbol):
        unit = UNITS[symbol]
        return unit.to_si(unit.from_si(value))

    metric = shots_of(offsets)
    imperial = [
        Shots(
            length=reword(each.length, "in"),
            offset=reword(each.offset, "in"),
            distance=reword(each.distance, "ft"),
            bare_count=each.bare_count,
            fletched_count=each.fletched_count,
            group_width=reword(each.group_width, "in"),
        )
        for each in metric
    ]
    here, there = decide(metric), decide(imperial)
    assert here.decision == there.decision
    assert here.next_length == pytest.approx(there.next_length, abs=1e-9)
    assert here.ideal.estimate == pytest.approx(there.ideal.estimate, abs=1e-6)


@pytest.mark.parametrize("factor", [0.5, 2.0, 4.0])
def test_twice_the_offset_at_twice_the_distance_is_the_same(factor):
    near = shots_of((0.20, 0.15, 0.11))
    far = [
        Shots(
            length=each.length,
            offset=each.offset * factor,
            distance=each.distance * factor,
            bare_count=3,
            fletched_count=6,
            group_width=each.group_width * factor,
        )
        for each in near
    ]
    assert decide(near) == decide(far)


OPTIONS = st.builds(
    Cutting,
    wanted_length=st.none() | st.floats(0.5, 0.9),
    target_offset=st.floats(0.0, 0.5),
    largest_step=st.none() | st.floats(0.001, 0.05),
    smallest_step=st.floats(0.0005, 0.02),
    risk=st.floats(0.001, 0.2),
)
INCREMENTS = st.none() | st.sampled_from([0.0005, 0.001, 0.0015875, 0.005, 0.01])


@settings(max_examples=150)
@given(
    shots=st.lists(
        st.tuples(st.floats(0.60, 0.85), st.floats(-0.05, 0.05), st.floats(1e-6, 0.05)),
        min_size=1,
        max_size=8,
    ),
    present=st.floats(0.60, 0.85),
    floor=st.floats(0.55, 0.90),
    options=OPTIONS,
    increment=INCREMENTS,
)
def test_no_decision_crosses_the_floor(shots, present, floor, options, increment):
    evidence = [Evidence(length=x, offset=y, deviation=s) for x, y, s in shots]
    answer = decide_cut(
        read(evidence),
        both_measures([each.length for each in evidence] + [present]),
        present=present,
        floor=floor,
        options=options,
        increment=increment,
    )
    assert (answer.next_length is not None) is (answer.decision == "cut")
    if answer.next_length is not None:
        assert answer.next_length >= floor - limits.TOLERANCE
        assert answer.next_length >= (options.wanted_length or 0.0) - limits.TOLERANCE
        taken = present - answer.next_length
        assert taken >= options.smallest_step - limits.TOLERANCE
        assert taken <= (options.largest_step or limits.LARGEST_STEP) + limits.TOLERANCE
        assert 0.0 <= answer.probability_too_far <= options.risk + 1e-9


@settings(max_examples=200)
@given(
    present=st.floats(0.60, 0.90),
    goal=st.floats(0.50, 0.95),
    floor=st.floats(0.50, 0.95),
    options=OPTIONS,
    increment=INCREMENTS,
)
def test_no_planned_step_crosses_the_floor(present, goal, floor, options, increment):
    lengths = plan_steps(
        present=present, goal=goal, floor=floor, options=options, increment=increment
    )
    for before, after in itertools.pairwise([present, *lengths]):
        assert after >= floor - limits.TOLERANCE
        assert 0 < before - after <= (options.largest_step or limits.LARGEST_BLIND_STEP) + 2e-6


def test_sharp_archer_is_cut_to_what_the_systematic_error_leaves():
    """An archer without noise who answers exactly as assumed; derived.

    Their rounds settle zero and sensitivity, so only the systematic error stays: 98 % of a normal
    distribution, less the tolerance.
    """
    answer, length, shot = respond(0.731), PRESENT, []
    for _ in range(15):
        shot.append((length, answer(length)))
        evidence = rounds(*shot, deviation=2e-4)
        plan = decide_cut(
            read(evidence),
            both_measures([x for x, _ in shot]),
            present=length,
            floor=0.60,
            options=Cutting(),
            increment=0.0005,
        )
        if plan.decision == "stop_here":
            break
        assert plan.decision == "cut"
        length = plan.next_length
    assert plan.decision == "stop_here"
    error = limits.SYSTEMATIC_DEVIATION / (4.0 * limits.SENSITIVITY / 0.731)
    left = norm.ppf(1 - limits.CUT_RISK) * error - limits.CUT_TOLERANCE
    assert length == pytest.approx(0.731 + left, abs=0.0015)
