"""A loose guard, at twice the bars: the benchmark itself says how fast batches are."""

from __future__ import annotations

import pytest

from benchmarks import batch_ratio

pytestmark = pytest.mark.long
RULES = "plugins"


@pytest.mark.parametrize(("count", "most"), [(1_000, 2 * 10), (10_000, 2 * 8)])
def test_a_batch_is_not_far_behind_json_alone(count, most):
    told = batch_ratio.ratio(RULES, count)
    assert told["ratio"] < most
    assert told["peak"] < 500


def test_streams_take_flat_memory():
    short, long = (batch_ratio.fresh("stream", RULES, count) for count in (5_000, 30_000))
    assert long["peak"] < 1.3 * short["peak"]
    assert long["us"] < 3 * short["us"]
