"""An old draw, lengthened by growth, never makes an answer milder than the same draw of today."""

import dataclasses
import datetime
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import FittingError
from drawmark.fitting.floors import minimum_of
from drawmark.rules.evaluate import evaluate
from drawmark.rules.model import PRECEDENCE
from drawmark.rules.random_cases import random_fitting
from rules.fittings import core_ruleset

TODAY = datetime.date(2026, 9, 1)
PLAIN = {
    "age": None,
    "growth_table": None,
    "growth_rate": None,
    "measured_on": None,
    "today": TODAY,
}

growths = st.one_of(
    st.fixed_dictionaries({"growth_rate": st.floats(0, 0.1)}),
    st.fixed_dictionaries(
        {"age": st.floats(4, 30), "growth_table": st.sampled_from(("boys", "unknown", None))}
    ),
)


def aged(fitting, days, **growth):
    archer = dataclasses.replace(
        fitting.archer,
        **{**PLAIN, "measured_on": TODAY - datetime.timedelta(days=days), **growth},
    )
    return dataclasses.replace(fitting, archer=archer)


@given(seed=st.integers(0, 2**32), days=st.integers(0, 3600), growth=growths)
def test_verdict(seed, days, growth):
    fitting = random_fitting(Random(seed))
    fresh = aged(fitting, 0, **growth)
    try:
        known = evaluate(fresh, core_ruleset())
    except FittingError:
        return
    old = evaluate(aged(fitting, days, **growth), core_ruleset())
    assert PRECEDENCE[old.verdict] >= PRECEDENCE[known.verdict]


@given(
    seed=st.integers(0, 2**32), days=st.integers(0, 3000), more=st.integers(0, 600), growth=growths
)
def test_more_growth_never_shortens_the_minimum(seed, days, more, growth):
    fitting = random_fitting(Random(seed))
    try:
        earlier, later = (facts_of(aged(fitting, each, **growth)) for each in (days, days + more))
    except FittingError:
        return
    assert minimum_of(later) >= minimum_of(earlier) - 1e-12
