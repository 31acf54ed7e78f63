"""The whole document fuzzed against the live service, with a fixed seed and every check on."""

from __future__ import annotations

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.specs.openapi.checks import (
    negative_data_rejection,
    positive_data_acceptance,
)

from drawmark.web.installed import core_rules
from drawmark.web.openapi import document_of

PATHS = document_of(core_rules())["paths"]
# The document itself is what the fuzzer reads, not what it fuzzes.
PATHS.pop("/openapi.json")
CASES = [(path, GenerationMode.POSITIVE) for path in sorted(PATHS)]
CASES += [(path, GenerationMode.NEGATIVE) for path in sorted(PATHS) if "post" in PATHS[path]]

# Rules that JSON Schema cannot state, so that data of the right shape may be a 422: exact ranges
# by unit (one component a dimension shows the widest), fields that go together or exclude each
# other (draw_variation with draw_count, draw_weight with its basis, a convention with a draw,
# parts longer than the shaft), names of rule sets.
UNSTATED = [positive_data_acceptance]
# A batch with a bad item is a 200: the item has a problem of its own and spoils nothing.
BATCH = [negative_data_rejection]


@pytest.fixture(scope="session")
def operations(live):
    schema = schemathesis.openapi.from_url(live + "/openapi.json")
    return {one.ok().path: one.ok() for one in schema.get_all_operations()}


@pytest.mark.parametrize(("path", "mode"), CASES)
def test_nothing_is_found(operations, path, mode):
    operation = operations[path]

    @settings(
        max_examples=25,
        derandomize=True,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy(generation_mode=mode))
    def fuzz(case):
        response = case.call()
        assert response.status_code < 500
        excluded = UNSTATED if response.status_code == 422 else []
        if path.endswith("/batch"):
            excluded = excluded + BATCH
        case.validate_response(response, excluded_checks=excluded)

    fuzz()
