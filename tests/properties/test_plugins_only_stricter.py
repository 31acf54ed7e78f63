"""Local rules can only make an answer stricter, whatever they do: a zoo of plugins tries."""

import dataclasses
import math
import random
from itertools import permutations

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawmark import rules
from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.floors import floors_of
from drawmark.rules import testing
from drawmark.rules.evaluate import evaluate
from drawmark.rules.evaluate_batch import evaluate_many
from drawmark.rules.model import PRECEDENCE
from drawmark.rules.random_cases import random_fitting
from drawmark.rules.registry import load
from rules.bench import plugin, rule, ruleset, says
from rules.zoo import SEVERITIES, computable, zoos

pytestmark = pytest.mark.usefixtures("patience")

CORE = load().find("core")
ALONE = ruleset(CORE)
SHORT = tuple(np.linspace(0.5, 0.6, 9))  # arrows, for a draw of 28 in [m]


@settings(max_examples=150)
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


@settings(max_examples=60)
@given(computable(), zoos)
def test_order_of_installation_changes_nothing(given_fitting, zoo):
    fitting, facts = given_fitting
    first, *others = (
        evaluate(fitting, ruleset(*order), facts=facts) for order in permutations([CORE, *zoo])
    )
    # Figures that are no numbers are never equal, so compare what is written.
    assert {repr(other) for other in others} <= {repr(first)}


@settings(max_examples=60)
@given(computable(), zoos)
def test_a_batch_of_one_is_as_if_alone(given_fitting, zoo):
    fitting, facts = given_fitting
    chosen = ruleset(CORE, *zoo)
    many = evaluate_many(fitting, chosen, 1, facts=facts)
    assert repr(many.item(0)) == repr(evaluate(fitting, chosen, facts=facts))


@settings(max_examples=100)
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


def lengthen(case):
    msgspec.structs.force_setattr(case.facts, "usable_length", 2.0 + 0 * case.facts.draw)
    return []


def stretch(case):
    if isinstance(case.facts.usable_length, np.ndarray):
        case.facts.usable_length.base.flags.writeable = True
        case.facts.usable_length.base[:] = 2.0
    return []


@pytest.mark.parametrize("tamper", [lengthen, stretch])
def test_not_even_a_changed_case_improves_the_cores_verdict(tamper):
    changed = ruleset(CORE, plugin(rule(tamper, check_many=tamper)))
    fitting = testing.fitting(arrow={"length": "24 in"})
    assert evaluate(fitting, ALONE).verdict == "stop"
    outcome = evaluate(fitting, changed)
    assert (outcome.verdict, outcome.unevaluated) == ("stop", ())
    # What a rule writes to is this request's own.
    lengths = np.array(SHORT)
    many = dataclasses.replace(fitting, arrow=dataclasses.replace(fitting.arrow, length=lengths))
    columns = evaluate_many(many, changed, len(SHORT))
    assert [columns.item(at).verdict for at in range(len(SHORT))] == ["stop"] * len(SHORT)
    assert not columns.common.unevaluated
