"""The whole document fuzzed against the live service, with a fixed seed and every check on."""

from __future__ import annotations

import pytest
import schemathesis
from hypothesis import given
from hypothesis.strategies import integers
from schemathesis import GenerationMode
from schemathesis.core.errors import InvalidSchema

from drawmark.web.document.openapi import document_of
from drawmark.web.wire.installed_rules import installed_rules
from properties.fuzzing import bounded, call_and_check, cases

# Examples are drawn in here: to be searched with the properties.
pytestmark = pytest.mark.hypothesis

PATHS = document_of(installed_rules())["paths"]
# The document itself is what the fuzzer reads, not what it fuzzes.
PATHS.pop("/openapi.json")
CASES = [(path, GenerationMode.POSITIVE) for path in sorted(PATHS)]
CASES += [(path, GenerationMode.NEGATIVE) for path in sorted(PATHS) if "post" in PATHS[path]]

# Chance seldom makes an order, a comparison of shafts or a clicker all of whose parts can be.
SELDOM = {"/v1/clicker", "/v1/order", "/v1/replacement"}


@pytest.fixture(scope="session")
def operations(live):
    schema = schemathesis.openapi.from_url(live + "/openapi.json")
    return {one.ok().path: one.ok() for one in schema.get_all_operations()}


@pytest.mark.parametrize(("path", "mode"), CASES)
def test_nothing_is_found(operations, path, mode):
    seen = set()

    @bounded(3, 60)
    @given(case=cases(operations[path], mode))
    def fuzz(case):
        seen.add(call_and_check(case, path))

    fuzz()
    if mode == GenerationMode.POSITIVE and path not in SELDOM:
        assert 200 in seen


def test_where_the_library_can_draw_nothing_there_is_no_request():
    def evens(odd):
        if odd % 2:
            raise InvalidSchema("Cannot generate an array")
        return odd

    class Operation:
        def as_strategy(self, generation_mode):
            return integers(0, 9).map(evens)

    drawn = set()

    @given(case=cases(Operation(), GenerationMode.NEGATIVE))
    def draws(case):
        drawn.add(case)

    draws()
    assert drawn == {0, 2, 4, 6, 8}
