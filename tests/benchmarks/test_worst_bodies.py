"""The price of a worst body, over that of a usual fit check: what we aim at, and a quarter more.

A usual check takes about a quarter of a millisecond; the aims are 50 ms for a single operation and
2 s for a list at its limits.
"""

from __future__ import annotations

from functools import cache

import pytest

from benchmarks import worst_bodies
from benchmarks.batch_ratio import application
from benchmarks.full_bodies import FULL, MAKERS
from benchmarks.worst_bodies import STARTS

pytestmark = pytest.mark.soak
USUAL = {"shaft": "uniform", "parts": "few", "asked": "least", "length": "long", "local": "none"}
SINGLE, LIST = 1.25 * 50 / 0.25, 1.25 * 2000 / 0.25

service = cache(lambda: application("plugins"))


@cache
def time_of(name, **changes):
    body = worst_bodies.body_of(name, FULL | changes)
    # The first round of all also loads what the service needs.
    seconds = worst_bodies.time_of(service(), name, body)
    assert seconds, f"{name} was refused"
    return seconds


@pytest.mark.parametrize("traits", STARTS.values(), ids=STARTS)
@pytest.mark.parametrize("name", MAKERS)
def test_a_worst_body_costs_so_many_usual_checks(name, traits):
    single = MAKERS[name][2] == 1 or name == "cut-plan"
    most = SINGLE if single else LIST
    assert time_of(name, **traits) < most * time_of("fit-check", **USUAL)
