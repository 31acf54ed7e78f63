"""What the fuzzers of a live service share: which answers are faults, and bodies within ranges."""

from __future__ import annotations

import math
import re

import marshmallow as ma
from hypothesis import HealthCheck, settings
from schemathesis.specs.openapi.checks import (
    negative_data_rejection,
    positive_data_acceptance,
)

from drawmark.web.wire.wire_fields import QuantityField

# Rules that the document cannot state. Data of the right shape may be a 422 where each fault
# has one of these details, and for no other reason.
UNSTATED = {
    r"must be from \S+ to \S+ \S+": "a range by unit: the one component of a dimension shows the "
    "widest, each field's own stands in its description",
    r"(This )?leaves no shaft|This (is longer than|lies)|The (vanes|range) ": (
        "lengths against each other"
    ),
    r"(The s|S)tations ": "stations against each other and the span",
    r"This is needed: the draw is measured to the back": "to_back needs bow.back_position "
    "only where a draw is stated, not beside an arm span alone",
    r"This is needed beside a side": "hand and release, which only shots with a side need",
    r"This is needed here": "what an arrow's mass needs hangs on what else was weighed",
    r"A cut cannot make an arrow longer|Nothing of the shaft": "a length against another",
    r"This is needed beside (step|available_points)": "what only a change makes sense of",
    r"This makes more than \d+ cuts": "a step against a change",
    "must be left out: the answer gives the length": "an arrow whose length is what is asked for",
    r"This is needed: (give draw_length|the same draw)": "a draw, which only a rack's labels with "
    "a growth rate need, and an archer in a set",
    r"is used twice": "names of archers and sets, each once",
    r"This is needed beside mass_spread": "a spread against a mass",
    r"leaves the lightest arrow too light": "a spread against a mass",
    r"must be \"own_draw\" here": "no archer tells the draw",
    r"is shorter than smallest_step|is coarser than largest_step": "steps against each other",
    "This is needed beside the archer.": "an archer in a set needs a bow",
    r"is shorter than the minimum safe length|is longer than the stock gives": (
        "a length against what the rules ask for"
    ),
}
# A batch with a bad item is a 200: the item has a problem of its own and spoils nothing.
BATCH = [negative_data_rejection]


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


def squeeze(value, field):
    """Move every quantity of a generated body into its own field's range, its ends included."""
    if isinstance(field, QuantityField):
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
