"""Today's document keeps what the document of the last release promised."""

from __future__ import annotations

import copy
import json
from pathlib import Path

from compatibility import released
from compatibility.structure import differences, shape

TODAY = json.loads((Path(__file__).parents[2] / "openapi/drawmark.json").read_text())
OLD = released.kept("document")


def number(document):
    return tuple(map(int, document["info"]["version"].split(".")))


def test_only_what_is_listed_was_broken():
    found = set(differences(OLD, TODAY))
    listed = released.differences("document").keys()
    assert (sorted(found - listed), sorted(listed - found)) == ([], [])


def test_the_documents_own_version_counts_its_changes():
    if shape(TODAY) != shape(OLD):
        assert number(TODAY) > number(OLD)
    if released.differences("document"):
        assert number(TODAY)[0] > number(OLD)[0]


def schema(document, name):
    return document["components"]["schemas"][name]


def drop_path(document):
    del document["paths"]["/v1/balance"]


def drop_method(document):
    del document["paths"]["/v1/rules"]["get"]


def rename(document):
    document["paths"]["/v1/spine"]["post"]["operationId"] = "stiffness"


def drop_status(document):
    del document["paths"]["/v1/spine"]["post"]["responses"]["503"]


def drop_type(document):
    del document["paths"]["/v1/order"]["post"]["responses"]["200"]["content"]["text/csv"]


def drop_member(document):
    del schema(document, "Bow")["properties"]["maximum_draw"]


def require(document):
    schema(document, "Archer")["required"] = ["release"]


def require_beside(document):
    schema(document, "Bow").setdefault("dependentRequired", {})["kind"] = ["draw_weight"]


def drop_word(document):
    schema(document, "BowKind")["enum"].remove("longbow")


def narrow_range(document):
    span = schema(document, "Archer")["properties"]["arm_span"]
    span["description"] = span["description"].replace("to 2600 mm", "to 2500 mm")


def narrow_count(document):
    schema(document, "Archer")["properties"]["draws"]["maxItems"] = 3


def change_type(document):
    schema(document, "Archer")["properties"]["coach_checked"] = {"type": "string"}


def change_condition(document):
    schema(document, "Bow")["if"] = {"required": ["kind"]}


def drop_answer(document):
    del schema(document, "FitCheckAnswer")["properties"]["status"]


def give_less_often(document):
    schema(document, "FitCheckAnswer")["required"].remove("findings")


def give_another_type(document):
    schema(document, "FitCheckAnswer")["properties"]["engine"] = {"type": "integer"}


def drop_verdict(document):
    schema(document, "Verdict")["enum"].remove("caution")


BREAKS = {
    drop_path: ("/v1/balance", "post", "gone"),
    drop_method: ("/v1/rules", "get", "gone"),
    rename: ("/v1/spine", "operationId", "renamed"),
    drop_status: ("/v1/spine", "status 503", "gone"),
    drop_type: ("/v1/order", "text/csv", "gone"),
    drop_member: ("/v1/fit-check", "request.bow.maximum_draw", "gone"),
    require: ("/v1/fit-check", "request.archer.release", "newly required"),
    require_beside: ("/v1/spine", "request.bow.draw_weight", "newly required beside kind"),
    drop_word: ("/v1/fit-check", "request.bow.kind", "longbow gone"),
    narrow_range: (
        "/v1/fit-check",
        "request.archer.arm_span",
        "800 to 2600 mm became (800.0, 2500.0)",
    ),
    narrow_count: ("/v1/fit-check", "request.archer.draws", "maxItems 100 became 3"),
    change_type: (
        "/v1/fit-check/batch",
        "request.items[].archer.coach_checked",
        "takes no boolean any more",
    ),
    change_condition: ("/v1/fit-check", "request.bow", "if changed"),
    drop_answer: ("/v1/fit-check", "answer.status", "gone"),
    give_less_often: ("/v1/fit-check", "answer.findings", "not always given"),
    give_another_type: ("/v1/fit-check", "answer.engine", "gives integer, too"),
    drop_verdict: ("/v1/fit-check", "answer.verdict", "caution gone"),
}


def test_every_broken_promise_is_found():
    broken = copy.deepcopy(TODAY)
    for change in BREAKS:
        change(broken)
    assert {*BREAKS.values()} - {*differences(TODAY, broken)} == set()


def widen(document):
    document["paths"]["/v1/knots"] = document["paths"]["/v1/spine"]
    archer = schema(document, "Archer")
    archer["properties"]["height"] = {"type": "number", "description": "d"}
    archer["properties"]["draws"]["maxItems"] = 200
    span = archer["properties"]["arm_span"]
    span["description"] = span["description"].replace("to 2600 mm", "to 2700 mm")
    schema(document, "BowKind")["enum"].append("crossbow")
    schema(document, "FitCheckAnswer")["properties"]["height"] = {"type": "number"}


def test_what_is_added_breaks_nothing_and_counts_as_a_change():
    wider = copy.deepcopy(TODAY)
    widen(wider)
    assert list(differences(TODAY, wider)) == []
    assert shape(wider) != shape(TODAY)


def test_other_words_are_no_change():
    reworded = copy.deepcopy(TODAY)
    schema(reworded, "Bow")["properties"]["kind"]["description"] = "Kind."
    reworded["info"]["version"] = "7.0"
    assert shape(reworded) == shape(TODAY)
