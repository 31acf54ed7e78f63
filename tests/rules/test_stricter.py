"""Local rules can only make an answer stricter, whatever they do: a zoo of plugins tries."""

import math
import random
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawmark import rules
from drawmark.fitting.facts import facts_of
from drawmark.fitting.length import floors_of
from drawmark.fitting.model import FittingError
from drawmark.rules.evaluate import evaluate, evaluate_many
from drawmark.rules.model import PRECEDENCE
from drawmark.rules.registry import load
from drawmark.rules.trials import random_fitting
from rules.bench import plugin, rule, ruleset, says

CORE = load().find("core")
ALONE = ruleset(CORE)
SEVERITIES = ("note", "caution", "indeterminate", "stop")


@st.composite
def computable(draw):
    rng = random.Random(draw(st.integers(0, 2**32)))
    while True:
        fitting = random_fitting(rng)
        try:
            return fitting, facts_of(fitting)
        except FittingError:
            continue


any_figure = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True),
    st.floats(0.3, 1.3),
    st.sampled_from([np.float64(0.9), np.float32(0.9), 10**400, "0.9", None, True]),
)
any_text = st.one_of(st.text(max_size=20), st.sampled_from(["\ud800", "x" * 501, None, b"x"]))
any_truth = st.one_of(st.booleans(), st.sampled_from([np.True_, 0, None]))
any_said = st.one_of(
    st.builds(rules.floor, any_figure, any_text, when=any_truth),
    st.builds(rules.ceiling, any_figure, any_text, when=any_truth),
    st.builds(
        rules.Finding,
        severity=st.sampled_from((*SEVERITIES, "pass", "fatal")),
        message=any_text,
        when=any_truth,
        measured=st.one_of(st.none(), st.builds(rules.Measure, any_figure)),
    ),
    st.sampled_from([None, 7, "pass", rules.Floor]),
)
good_said = st.one_of(
    st.builds(rules.floor, st.floats(0.3, 1.3), st.just("f")),
    st.builds(rules.ceiling, st.floats(0.3, 1.3), st.just("c")),
    st.builds(rules.Finding, severity=st.sampled_from(SEVERITIES), message=st.just("m")),
)
deeds = st.one_of(
    st.lists(good_said, max_size=3),
    st.lists(any_said, max_size=3),
    st.sampled_from([ValueError("no"), SystemExit(3), KeyboardInterrupt(), MemoryError()]),
)


def doing(deed):
    def check(case):
        if isinstance(deed, BaseException):
            raise deed
        return deed

    return check


@st.composite
def animals(draw):
    made = [
        rule(
            doing(draw(deeds)),
            f"rule-{place}",
            needs=draw(st.sampled_from([(), ("arrow.mass",), ("facts.launch_load",)])),
            required=draw(st.booleans()),
            gives=draw(
                st.sampled_from(
                    [frozenset({"floor", "ceiling", "finding"}), frozenset({"finding"})]
                )
            ),
        )
        for place in range(draw(st.integers(1, 3)))
    ]
    return made


zoos = st.lists(animals(), min_size=1, max_size=3).map(
    lambda zoo: [plugin(*made, name=f"animal-{place}") for place, made in enumerate(zoo)]
)


@settings(max_examples=150, deadline=None)
@given(computable(), zoos, st.booleans())
def test_a_zoo_of_plugins_only_makes_it_stricter(given_fitting, zoo, missing):
    fitting, facts = given_fitting
    alone = evaluate(fitting, ALONE, facts=facts)
    joined = evaluate(
        fitting, ruleset(CORE, *zoo, missing=["guard-dog"] if missing else []), facts=facts
    )
    assert joined.minimum_usable >= alone.minimum_usable
    assert math.isfinite(joined.minimum_usable)
    assert PRECEDENCE[joined.verdict] >= PRECEDENCE[alone.verdict]
    assert alone.determinate or not joined.determinate
    assert joined.floors[: len(alone.floors)] == alone.floors
    assert all(placed in joined.findings for placed in alone.findings if not _near(placed))
    if missing or joined.unevaluated:
        assert joined.verdict in ("indeterminate", "stop")
    if missing:
        assert not joined.determinate


def _near(placed):
    """A caution close above the minimum gives way to a stop below a larger one."""
    return placed.rule == "minimum-length" and placed.said.severity == "caution"


@settings(max_examples=60, deadline=None)
@given(computable(), zoos)
def test_order_of_installation_changes_nothing(given_fitting, zoo):
    fitting, facts = given_fitting
    first, *others = (
        evaluate(fitting, ruleset(*order), facts=facts) for order in permutations([CORE, *zoo])
    )
    # Figures that are no numbers are never equal, so compare what is written.
    assert {repr(other) for other in others} <= {repr(first)}


@settings(max_examples=60, deadline=None)
@given(computable(), zoos)
def test_a_batch_of_one_is_as_if_alone(given_fitting, zoo):
    fitting, facts = given_fitting
    chosen = ruleset(CORE, *zoo)
    many = evaluate_many(fitting, chosen, 1, facts=facts)
    assert repr(many.item(0)) == repr(evaluate(fitting, chosen, facts=facts))


@settings(max_examples=100, deadline=None)
@given(computable())
def test_without_plugins_the_minimum_is_that_of_the_fitting(given_fitting):
    fitting, facts = given_fitting
    outcome = evaluate(fitting, ALONE, facts=facts)
    assert outcome.minimum_usable == max(floor.length for floor in floors_of(facts))
    assert not outcome.unevaluated


@pytest.mark.parametrize("severity", SEVERITIES)
def test_every_severity_is_at_least_taken(severity):
    rng = random.Random(5)
    for _ in range(30):
        fitting = random_fitting(rng)
        try:
            facts = facts_of(fitting)
        except FittingError:
            continue
        said = rules.Finding(severity=severity, message="m")
        joined = evaluate(fitting, ruleset(CORE, plugin(rule(says(said)))), facts=facts)
        alone = evaluate(fitting, ALONE, facts=facts)
        assert PRECEDENCE[joined.verdict] == max(PRECEDENCE[alone.verdict], PRECEDENCE[severity])
