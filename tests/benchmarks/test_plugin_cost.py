"""What local rules cost, guarded without a clock: other work on the machine changes no count."""

from __future__ import annotations

import sys

import pytest

from benchmarks.plugin_cost import (
    BAR,
    BODY,
    FULL,
    FULL_BAR,
    FULL_SINGLY_BAR,
    core_rules,
    installed_rules,
    measure,
    two_plugins,
)
from drawmark.rules.guard import guard
from drawmark.web.wire.operations import operations_of


def steps_of(installed, body):
    """Count the interpreter's steps of a fit check."""
    (operation,) = [one for one in operations_of(installed) if one.path == "fit-check"]
    for _ in range(5):
        operation.calculate(body)
    count = 0

    def trace(frame, event, argument):
        nonlocal count
        frame.f_trace_opcodes = True
        count += event == "opcode"
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        operation.calculate(body)
    finally:
        sys.settrace(before)
    return count


@pytest.mark.skipif(sys.gettrace() is not None, reason="something else traces")
@pytest.mark.parametrize(
    ("installed", "body", "bar"),
    [
        pytest.param(lambda: two_plugins(outspoken=False), BODY, BAR, id="once each"),
        pytest.param(installed_rules, FULL, FULL_BAR, id="at every draw in columns"),
        pytest.param(
            lambda: two_plugins(outspoken=False), FULL, FULL_SINGLY_BAR, id="one by one at all"
        ),
    ],
)
def test_local_rules_take_not_many_more_steps(monkeypatch, installed, body, bar):
    # What other tests have told to count rules is none of a rule's cost.
    monkeypatch.setattr(guard, "observer", None)
    # Steps are not time: the benchmark says how near the bar is. Versions of Python differ.
    assert steps_of(installed(), body) <= 1.08 * bar * steps_of(core_rules(), body)


@pytest.mark.soak
def test_the_measure_measures():
    chosen = {"core": core_rules(), "halls": two_plugins(outspoken=False)}
    found = measure(chosen, rounds=5, calls=400)
    assert found["core"][1] == 1.0
    # With a watch's timer on, the processor's clock ticks in hundredths of a second: many calls.
    # Far above the bar: this only tells that nothing is grossly wrong, whatever else runs.
    assert 1.0 < found["halls"][1] < 2.5
    assert found["halls"][0] > 0
