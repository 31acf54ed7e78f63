"""A box and a shop in time: limits far above what a quiet machine takes, in processor time."""

from __future__ import annotations

import json

import pytest

from benchmarks.batch_ratio import application, processor_time
from benchmarks.full_bodies import FULL
from benchmarks.worst_bodies import ask, body_of

USUAL = FULL | {"shaft": "uniform"}
SECONDS = {"replacement": 0.4, "kit/sets": 0.6}
"""On a quiet machine 0.1 s each."""


@pytest.fixture(scope="module")
def app():
    return application("plugins")


@pytest.mark.usefixtures("patience")
@pytest.mark.parametrize("name", SECONDS)
def test_as_many_as_are_accepted(app, name):
    body = body_of(name, USUAL)
    given = json.loads(body)
    assert len(given["candidates" if name == "replacement" else "arrows"]) in (500, 2_000)
    times = []
    for _ in range(3):
        before = processor_time()
        status, _ = ask(app, name, body)
        times.append(processor_time() - before)
        assert status.startswith("200")
    assert min(times) < SECONDS[name]
