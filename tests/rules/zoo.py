"""A zoo of plugins whose rules return, or do, anything at all; and fittings for them to judge."""

import random

import numpy as np
from hypothesis import strategies as st

from drawmark import rules
from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import FittingError
from drawmark.rules.random_cases import random_fitting
from rules.bench import plugin, rule

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
