"""A drawing costs at most half as much again as the JSON of the same request."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchmarks import drawing_cost

TRIES = 3
pytestmark = pytest.mark.skipif(
    not Path("/proc/self/schedstat").exists(), reason="reads processor time from /proc"
)


@pytest.mark.soak
def test_a_drawing_costs_half_as_much_again():
    # Others use the processor's caches too, so one quiet try is enough.
    ratios = []
    for _ in range(TRIES):
        ((ratio, _),) = drawing_cost.measure(["fit-check"], rounds=5, requests=200).values()
        ratios.append(ratio)
        if ratio < 1.5:
            return
    pytest.fail(f"a drawing costs {ratios} times the JSON")
