"""What the fuzzers of a live service share: which answers are faults."""

from __future__ import annotations

import re

from hypothesis import HealthCheck, reject, settings
from hypothesis.strategies import composite
from schemathesis import GenerationMode
from schemathesis.core.errors import InvalidSchema
from schemathesis.specs.openapi.checks import (
    negative_data_rejection,
    positive_data_acceptance,
)

# What several fields together must be, and the document cannot state. Data of the right shape may
# be a 422 where each fault has one of these details, and for no other reason.
UNSTATED = {
    "The rule set '": "inputs of a plugin that the asked rule set does not use",
    "is too long: it leaves no shaft": "a nock against the shaft",
    r"leaves no shaft|This leaves no shaft|This (is longer than|lies)|The (vanes|range) ": (
        "lengths of the parts against that of the shaft: JSON Schema compares no two figures"
    ),
    r"(The s|S)tations ": "stations against each other and the span: no two figures are compared",
    r"A cut cannot make an arrow longer|Nothing of the shaft": "a length against another",
    r"This makes more than \d+ cuts": "a step against a change",
    "is shorter than the shortest arrow": "a next shortest against its set",
    r"is shorter than smallest_step|is coarser than largest_step": "steps against each other",
    r"leaves the lightest arrow too light": "a spread against a mass",
    "This is needed beside the archer.": "an archer in a set needs a bow",
    "The archer has one. Leave this out.": "a growth rate stated twice",
    "Give wanted_mass or wanted_grains_per_pound": "a mass stated twice",
    "This is needed beside wanted_grains_per_pound": "what only that figure needs",
    "This is more than arrows_per_archer": "a count against another",
    "This is needed if other archers state it": "details of all archers or of none",
    r"is shorter than the minimum safe length|is longer than the stock gives": (
        "a length against what the rules ask for"
    ),
    r"This is (later than today|more than ten years ago)": "days against each other",
    r"This, or archer.age, is needed beside curve_months|This is needed beside curve_months": (
        "what a curve needs of each archer of a list"
    ),
    r"This is needed: (from an arm span|the blade's place)": (
        "where a blade belongs hangs on how the draw was told"
    ),
    "A point of no mass": "a figure so small that it is nothing in SI",
    r"is used twice": "names of archers and sets: JSON Schema knows no key of a list",
    r"This is needed here": "what an arrow's mass needs hangs on what else was weighed",
    r"This is needed beside available_points": "a change that changes nothing",
    "must be left out: the answer gives the length": "an arrow whose length is what is asked for",
}
# A batch with a bad item is a 200: the item has a problem of its own and spoils nothing.
BATCH = [negative_data_rejection]


def is_unstated(problem):
    details = [error["detail"] for error in problem["errors"]]
    return all(any(re.match(reason, detail) for reason in UNSTATED) for detail in details)


def bounded(few, many):
    """Few examples where every run draws the same, many where a search draws others."""
    searching = settings.get_current_profile_name() == "search"
    return settings(
        max_examples=many if searching else few, suppress_health_check=list(HealthCheck)
    )


def call_and_check(case, path):
    response = case.call()
    assert response.status_code < 500
    excluded = []
    if response.status_code == 422 and is_unstated(response.json()):
        excluded.append(positive_data_acceptance)
    if path.endswith("/batch"):
        excluded += BATCH
        if case.meta.generation.mode == GenerationMode.POSITIVE and response.status_code == 200:
            accept_items(response.json()["items"])
    case.validate_response(response, excluded_checks=excluded)
    return response.status_code


def accept_items(items):
    """Hold each item to what holds for a request of its own."""
    problems = [item["problem"] for item in items if "problem" in item]
    # Of many problems only the first are worded in full.
    assert all(map(is_unstated, (one for one in problems if "errors" in one)))


@composite
def cases(draw, operation, mode):
    """Requests of an operation; where the library spoils a schema until it can draw none, none."""
    try:
        return draw(operation.as_strategy(generation_mode=mode))
    except InvalidSchema:
        reject()
