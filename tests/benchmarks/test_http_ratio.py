"""A loose guard: the benchmark itself says how fast a fit check is."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchmarks import http_ratio

pytestmark = pytest.mark.skipif(
    not Path("/proc/self/schedstat").exists(), reason="reads processor time from /proc"
)


@pytest.mark.long
def test_a_fit_check_is_not_far_behind_a_constant_view():
    measured = http_ratio.measure("core", rounds=3, requests=120)
    assert measured["rate of the constant view reached"] > 0.4
    assert measured["rate of nested load and dump reached"] > 1.3
    assert measured["worker resident, MB"] < 100


def test_a_table_of_cuts_is_one_solve():
    measured = http_ratio.bending()
    assert measured["20 frequencies, ms"] < 20 * measured["one frequency, ms"]


def test_start_up():
    # The processor's time: the clock runs on where other things share the machine.
    assert http_ratio.start_up()["import and start-up, processor s"] < 3.0
