"""The whole document fuzzed against the live service, with a fixed seed and every check on."""

from __future__ import annotations

import math
import re

import marshmallow as ma
import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.specs.openapi.checks import (
    negative_data_rejection,
    positive_data_acceptance,
)

from drawmark.web.document.openapi import document_of
from drawmark.web.wire.installed_rules import installed_rules
from drawmark.web.wire.operations import operations_of
from drawmark.web.wire.wire_fields import Quantity

# Examples are drawn in here: to be searched with the properties.
pytestmark = pytest.mark.hypothesis

PATHS = document_of(installed_rules())["paths"]
# The document itself is what the fuzzer reads, not what it fuzzes.
PATHS.pop("/openapi.json")
CASES = [(path, GenerationMode.POSITIVE) for path in sorted(PATHS)]
CASES += [(path, GenerationMode.NEGATIVE) for path in sorted(PATHS) if "post" in PATHS[path]]

# Rules that the document cannot state. Data of the right shape may be a 422 where each fault
# has one of these details, and for no other reason.
UNSTATED = {
    r"must be from \S+ to \S+ \S+": "a range by unit: the one component of a dimension shows the "
    "widest, each field's own stands in its description",
    r"is longer than the shaft|leaves no shaft|the vanes |lies (ahead|behind)|near must not be": (
        "lengths against each other"
    ),
    r"stations run forward|describe a shaft shorter": "stations against each other and the span",
    r"needed: a draw measured to the back": "to_back needs bow.back_position only where a draw "
    "is stated, not beside an arm span alone",
    r"is needed here": "what an arrow's mass needs hangs on what else was weighed",
    r"a cut cannot make an arrow longer|nothing of the shaft is left": "a length against another",
    r"needed beside step|needed beside available_points": "what only a change makes sense of",
    r"makes more than \d+ cuts": "a step against a change",
    r"is what is asked for here": "an arrow whose length is what is asked for",
    r"needed: draw_length, draws or|needed: the same draw differs": "a draw, which only a rack's "
    "labels with a growth rate need",
    r"is used twice": "names of archers and sets, each once",
    r"is needed beside mass_spread|leaves the lightest arrow no mass": "a spread against a mass",
    r"here only \"own_draw\"": "no archer tells the draw",
    r"is shorter than smallest_step|is coarser than largest_step": "steps against each other",
    r"needed beside the archer|needed: draw_length, draws": (
        "an archer in a set needs a bow and a draw, a wanted length alone does not"
    ),
    r"is shorter than the minimum safe length|the set needs a longer arrow than the stock": (
        "a length against what the rules ask for"
    ),
}
# A batch with a bad item is a 200: the item has a problem of its own and spoils nothing.
BATCH = [negative_data_rejection]


@pytest.fixture(scope="session")
def operations(live):
    schema = schemathesis.openapi.from_url(live + "/openapi.json")
    return {one.ok().path: one.ok() for one in schema.get_all_operations()}


def is_unstated(problem):
    details = [error["detail"] for error in problem["errors"]]
    return all(any(re.match(reason, detail) for reason in UNSTATED) for detail in details)


def bounded(examples):
    """Few examples where every run draws the same, more where a search draws others."""
    if settings.get_current_profile_name() == "search":
        examples *= 4
    return settings(max_examples=examples, suppress_health_check=list(HealthCheck))


def call_and_check(case, path):
    response = case.call()
    assert response.status_code < 500
    excluded = []
    if response.status_code == 422 and is_unstated(response.json()):
        excluded.append(positive_data_acceptance)
    if path.endswith("/batch"):
        excluded += BATCH
    case.validate_response(response, excluded_checks=excluded)
    return response.status_code


@pytest.mark.parametrize(("path", "mode"), CASES)
def test_nothing_is_found(operations, path, mode):
    @bounded(15)
    @given(case=operations[path].as_strategy(generation_mode=mode))
    def fuzz(case):
        call_and_check(case, path)

    fuzz()


def squeeze(value, field):
    """Move every quantity of a generated body into its own field's range, its ends included."""
    if isinstance(field, Quantity):
        low, high = field.ranges[value["unit"]]
        share, whole = math.modf(abs(value["value"]))
        share = share or whole % 2
        return {"value": min(high, low + share * (high - low)), "unit": value["unit"]}
    if isinstance(field, ma.fields.List):
        return [squeeze(one, field.inner) for one in value]
    if isinstance(field, ma.fields.Nested):
        return squeeze_all(value, field.schema.fields)
    return value


def squeeze_all(body, fields):
    return {name: squeeze(value, fields[name]) for name, value in body.items()}


@pytest.mark.parametrize("operation", operations_of(installed_rules()), ids=lambda one: one.path)
def test_nothing_is_found_within_the_ranges(operations, operation):
    path = f"/v1/{operation.path}"
    seen = set()

    @bounded(20)
    @given(case=operations[path].as_strategy(generation_mode=GenerationMode.POSITIVE))
    def fuzz(case):
        case.body = squeeze_all(case.body, operation.schema().fields)
        seen.add(call_and_check(case, path))

    fuzz()
    # An order is refused whole where one set of it cannot be: chance seldom makes one that can.
    assert 200 in seen or operation.path == "order"
