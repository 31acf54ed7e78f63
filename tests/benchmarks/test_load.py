"""The load meets every operation, and what goes wrong is found."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchmarks import load
from drawmark.web.wire.installed_rules import core_rules
from drawmark.web.wire.operations import operations_of
from servers import needs_proc


def test_every_operation_is_asked():
    asked = {each.path for each in load.mixture()}
    assert {f"/v1/{one.path}" for one in operations_of(core_rules())} <= asked
    assert "/v1/fit-check/batch" in asked


@pytest.mark.long
@needs_proc
def test_a_wrong_answer_and_growing_memory_are_found(monkeypatch):
    # So few requests only warm it up.
    monkeypatch.setattr(load, "MOST_GROWTH", 1e6)
    assert load.measure(1, 200, 100) == []
    spoilt = [replace(each, status=201) for each in load.mixture()]
    monkeypatch.setattr(load, "mixture", lambda: spoilt)
    monkeypatch.setattr(load, "MOST_GROWTH", -1e6)
    memory, errors = load.measure(1, 200, 100)
    # 60 at a rate, 100 before those that are watched, and these three times.
    assert errors.startswith("460 errors: ")
    assert memory.startswith("memory grew by ")


@pytest.mark.parametrize(("share", "value"), [(50, 51), (99, 100)])
def test_percentile(share, value):
    assert load.percentile(range(1, 102), share) == value
