"""The choice of lengths against every possible choice, and against a general solver."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from drawmark.fitting.kit.stock_lengths import choose_lengths
from drawmark.fitting.limits import TOLERANCE, longer, shorter
from drawmark.fitting.units import INCH

INF = math.inf
MM = 0.001


def measure_waste(stock, needs, longest, arrows):
    """Waste when each archer takes the shortest of the stock that is long enough [m]."""
    waste = 0.0
    for need, bound, count in zip(needs, longest, arrows, strict=True):
        enough = [length for length in stock if not shorter(length, need)]
        if not enough or longer(min(enough), bound):
            return None
        waste += count * (min(enough) - need)
    return waste


def try_everything(needs, longest, arrows, offered, most):
    """Least waste of every choice of at most so many of the lengths offered [m]."""
    choices = itertools.chain.from_iterable(
        itertools.combinations(offered, size) for size in range(1, most + 1)
    )
    wastes = [measure_waste(stock, needs, longest, arrows) for stock in choices]
    return min((waste for waste in wastes if waste is not None), default=None)


@st.composite
def memberships(draw):
    size = draw(st.integers(1, 6))
    needs = draw(st.lists(st.integers(600, 609), min_size=size, max_size=size))
    slack = st.one_of(st.integers(0, 8), st.just(INF))
    return (
        np.array(needs) * MM,
        np.array([need + draw(slack) for need in needs]) * MM,
        np.array(draw(st.lists(st.integers(1, 12), min_size=size, max_size=size))),
    )


@settings(max_examples=150)
@given(memberships(), st.integers(1, 4), st.sampled_from([None, MM, 2 * MM, 5 * MM]))
def test_plan_wastes_least_of_all(membership, most, increment):
    needs, longest, arrows = membership
    plan = choose_lengths(needs, most, longest=longest, arrows=arrows, increment=increment)
    whole = round((increment or MM) / MM)
    offered = [length * MM for length in range(600, 611) if length % whole == 0]
    rest = np.array(
        [
            any(not shorter(x, need) and not longer(x, bound) for x in offered)
            for need, bound in zip(needs, longest, strict=True)
        ]
    )
    assert plan.unsuited == tuple(np.flatnonzero(~rest))
    if not rest.any():
        assert (plan.lengths, plan.waste, plan.fewest_lengths) == ((), 0.0, 0)
        return
    who = needs[rest], longest[rest], arrows[rest]
    for most_lengths, waste in enumerate(plan.curve, 1):
        least = try_everything(*who, offered, most_lengths)
        assert waste == (None if least is None else pytest.approx(least, abs=1e-9))
    stock = [one.length for one in plan.lengths]
    assert len(stock) <= most
    assert plan.waste == plan.curve[-1]
    if plan.waste is None:
        assert not stock
        assert plan.fewest_lengths > most
    else:
        assert measure_waste(stock, *who) == pytest.approx(plan.waste, abs=1e-9)
        assert len(stock) == 1 + plan.curve.index(plan.waste)
        assert plan.fewest_lengths == 1 + [x is not None for x in plan.curve].index(True)


@settings(max_examples=150)
@given(memberships(), st.integers(1, 4))
def test_everyone_gets_a_length_between_need_and_bound(membership, most):
    needs, longest, arrows = membership
    plan = choose_lengths(needs, most, longest=longest, arrows=arrows)
    served = [archer for one in plan.lengths for archer in one.archers]
    if plan.lengths:
        assert sorted([*served, *plan.unsuited]) == list(range(len(needs)))
    for one in plan.lengths:
        assert one.arrows == sum(arrows[list(one.archers)])
        assert not any(shorter(one.length, needs[archer]) for archer in one.archers)
        assert not any(longer(one.length, longest[archer]) for archer in one.archers)


def solve_with_a_general_solver(needs, longest, arrows, offered, most):
    """Solve the choice as an integer programme with scipy's interface to HiGHS."""
    archers, lengths = len(needs), len(offered)
    enough = (offered[None] >= needs[:, None] - TOLERANCE) & (
        offered[None] <= longest[:, None] + TOLERANCE
    )
    cost = np.concatenate(
        [(arrows[:, None] * (offered[None] - needs[:, None])).ravel(), np.zeros(lengths)]
    )
    one_each = np.hstack([np.kron(np.eye(archers), np.ones(lengths)), np.zeros((archers, lengths))])
    bought = np.hstack(
        [np.eye(archers * lengths), -np.kron(np.ones((archers, 1)), np.eye(lengths))]
    )
    few = np.concatenate([np.zeros(archers * lengths), np.ones(lengths)])
    solved = milp(
        cost,
        integrality=np.ones_like(cost),
        bounds=Bounds(0, np.concatenate([enough.ravel(), np.ones(lengths)]).astype(float)),
        constraints=[
            LinearConstraint(one_each, 1, 1),
            LinearConstraint(bought, -np.inf, 0),
            LinearConstraint(few, 0, most),
        ],
    )
    return solved.fun if solved.success else None


@pytest.mark.parametrize("bounded", [False, True], ids=["unbounded", "bounded"])
@pytest.mark.parametrize("most", [2, 4, 7])
def test_plan_agrees_with_an_integer_programme(most, bounded):
    random = np.random.default_rng(most)
    needs = np.round(random.uniform(0.60, 0.78, 25), 3)
    longest = needs + (0.05 if bounded else np.inf)
    arrows = random.integers(3, 13, 25)
    offered = np.unique(np.ceil(np.round(needs / 0.005, 6))) * 0.005
    plan = choose_lengths(needs, most, longest=longest, arrows=arrows, increment=0.005)
    least = solve_with_a_general_solver(needs, longest, arrows, offered, most)
    assert plan.waste == (None if least is None else pytest.approx(least, abs=1e-6))


@pytest.mark.parametrize(
    ("needs", "most", "options", "lengths", "curve"),
    [
        pytest.param([28.0, 29.0, 30.0], 1, {}, [30.0], [3.0], id="one for all"),
        pytest.param([28.0, 29.0, 30.0], 2, {}, [28.0, 30.0], [3.0, 1.0], id="two, the earliest"),
        pytest.param([28.0, 30.0], 4, {}, [28.0, 30.0], [2.0, 0, 0, 0], id="no more than needed"),
        pytest.param(
            [28.0, 29.0, 30.0],
            2,
            {"arrows": [1, 1, 12]},
            [28.0, 30.0],
            [3.0, 1.0],
            id="arrows of the longest waste nothing",
        ),
        pytest.param(
            [28.0, 29.0, 30.0],
            2,
            {"arrows": [1, 12, 1]},
            [29.0, 30.0],
            [14.0, 1.0],
            id="many arrows count more",
        ),
        pytest.param(
            [28.1, 28.25, 29.3], 2, {"increment": 0.25}, [28.25, 29.5], [2.85, 0.35], id="saw"
        ),
        pytest.param(
            [28.0 + 1e-8, 28.0], 1, {"increment": 0.25}, [28.0], [0.0], id="within the tolerance"
        ),
        pytest.param(
            [28.0, 29.0, 30.0],
            2,
            {"longest": [28.5, 40.0, 40.0]},
            [28.0, 30.0],
            [None, 1.0],
            id="too long for one",
        ),
        pytest.param(
            [28.0, 29.0, 30.0],
            2,
            {"longest": [28.5, 29.5, 40.0]},
            [],
            [None, None],
            id="three lengths at least",
        ),
    ],
)
def test_worked_plans(needs, most, options, lengths, curve):
    options = {
        name: np.array(value) * (1 if name == "arrows" else INCH) for name, value in options.items()
    }
    plan = choose_lengths(np.array(needs) * INCH, most, **options)
    assert [one.length / INCH for one in plan.lengths] == pytest.approx(lengths, abs=1e-6)
    assert [None if waste is None else waste / INCH for waste in plan.curve] == [
        None if waste is None else pytest.approx(waste, abs=1e-6) for waste in curve
    ]


def test_too_few_lengths_are_explained():
    needs = np.array([0.70, 0.72, 0.74])
    plan = choose_lengths(needs, 2, longest=needs + 0.01)
    assert (plan.lengths, plan.waste, plan.fewest_lengths) == ((), None, 3)


def test_an_archer_whom_no_length_suits_is_named():
    plan = choose_lengths(
        np.array([0.701, 0.711, 0.72]), 2, longest=np.array([0.72, 0.714, 0.72]), increment=0.005
    )
    assert plan.unsuited == (1,)
    assert [one.archers for one in plan.lengths] == [(0,), (2,)]
    assert plan.waste == pytest.approx(0.004)


def test_nobody_needs_nothing():
    plan = choose_lengths(np.array([]), 3)
    assert (plan.lengths, plan.waste, plan.curve) == ((), 0.0, (0.0, 0.0, 0.0))
    assert (plan.fewest_lengths, plan.unsuited) == (0, ())


@pytest.mark.parametrize(
    ("change", "message"),
    [
        pytest.param({"needs": np.array([0.7, math.nan])}, "need", id="nan"),
        pytest.param({"needs": np.array([0.7, 0.0])}, "need", id="zero"),
        pytest.param({"longest": np.array([0.7])}, "for each archer", id="columns"),
        pytest.param({"longest": np.array([0.7, math.nan])}, "bound", id="bound"),
        pytest.param({"arrows": np.array([1, 0])}, "at least one arrow", id="no arrows"),
        pytest.param({"most_lengths": 0}, "at least one length", id="no lengths"),
        pytest.param({"increment": 0.0}, "increment", id="increment"),
        pytest.param({"increment": math.inf}, "increment", id="infinite"),
    ],
)
def test_what_is_no_membership_is_refused(change, message):
    figures = {"needs": np.array([0.7, 0.72]), "most_lengths": 2} | change
    with pytest.raises(ValueError, match=message):
        choose_lengths(**figures)
