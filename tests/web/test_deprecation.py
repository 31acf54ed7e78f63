"""What is on its way out: the document, an answer's headers, and `/v1/plugins` say so."""

from __future__ import annotations

import dataclasses
import json
from datetime import date
from types import SimpleNamespace
from typing import Annotated, TypedDict

import pytest

from builders.wire import q
from drawmark import rules
from drawmark.deadline import DeadlinePassed, deadline
from drawmark.deprecation import Deprecated
from drawmark.fitting.fields import deprecated, length
from drawmark.rules.configuration import Configuration, everything
from drawmark.rules.registry import Registry, register
from drawmark.rules.validation import LONGEST_TEXT
from drawmark.web import create_app
from drawmark.web.batch import shared_operations
from drawmark.web.document import openapi
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.document.pages import page_of
from drawmark.web.wire.deprecated_members import DeprecatedMembers
from drawmark.web.wire.installed_rules import Rules, core_rules
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.operations import operations_of

# 2027-03-01 begins 1 803 859 200 s after 1970, by `date -d 2027-03-01T00:00Z +%s`.
SINCE, UNTIL = "@1803859200", "Wed, 01 Mar 2028 23:59:59 GMT"
WORDS = "Deprecated since 2027-03-01. Use loop. It stays until 2028-03-01."
FIT = EXAMPLES["fit-check"]


class KnotAnswer(TypedDict):
    """How long it is."""

    length: Annotated[float, "Length."]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class KnotRequest:
    """Asks for a length."""

    loop: float | None = length(0.001, 0.1, "Length of the loop.", default=None)
    knot: float | None = deprecated(
        length(0.001, 0.1, "Length of the knot.", default=None),
        since="2027-03-01",
        instead="Use loop.",
        until="2028-03-01",
    )


def answer(request: KnotRequest, context: object) -> KnotAnswer:
    return {"length": request.loop or request.knot or 0.0}


@pytest.fixture(scope="module")
def knots():
    """A service with one made-up operation more, and its document."""
    made_up = SimpleNamespace(Request=KnotRequest, NEEDS=(), answer=answer)
    core = core_rules()
    operation = Operation("knots", made_up, "KnotsRequest", "How long.", core, uses_rules=False)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            shared_operations, "operations_of", lambda rules: (*operations_of(rules), operation)
        )
        patch.setitem(EXAMPLES, "knots", {"loop": q(5, "mm")})
        yield create_app(rules=core).test_client(), openapi.document_of(core)


def test_a_request_that_uses_it_is_told_so(knots):
    response = knots[0].post("/v1/knots", json={"knot": q(5, "mm")})
    assert response.get_json() == {"length": 0.005}
    assert response.headers["Deprecation"] == SINCE
    assert response.headers["Sunset"] == UNTIL
    assert response.headers["Link"] == (
        f'</docs#knots>; rel="deprecation"; type="text/html"; title="knot: {WORDS}"'
    )


def test_any_other_request_is_answered_as_ever(knots):
    response = knots[0].post("/v1/knots", json={"loop": q(5, "mm")})
    assert response.get_json() == {"length": 0.005}
    assert {"Deprecation", "Sunset", "Link"}.isdisjoint(response.headers.keys())


def test_the_document_and_its_page_say_so(knots):
    document = knots[1]
    members = document["components"]["schemas"]["KnotsRequest"]["properties"]
    assert members["knot"]["deprecated"] is True
    assert members["knot"]["description"].startswith(f"Length of the knot. {WORDS}")
    assert "deprecated" not in members["loop"]
    stated = document["paths"]["/v1/knots"]["post"]["responses"]["200"]["headers"]
    assert {"Deprecation", "Sunset", "Link"} <= stated.keys()
    assert f"Length of the knot. {WORDS}" in page_of(document)


@dataclasses.dataclass(frozen=True, kw_only=True)
class Lane:
    """What a hall asks."""

    number: int = rules.whole(1, 9, "Number of the lane.", default=1)
    lane: int = rules.deprecated(
        rules.whole(1, 9, "The same.", default=1), since="2027-03-01", instead='Use "number".'
    )


class Hall:
    """Stands for the module of a plugin."""

    @staticmethod
    @rules.hookimpl
    def drawmark_rules():
        return [rules.Rule(id="hall", title="The lane.", check=lambda case: [], inputs=Lane)]


@pytest.fixture(scope="module")
def client():
    hall = register("hall-lanes", "1.0", Hall)
    found = Registry(plugins=(*core_rules().registry.plugins, hall))
    ruleset = everything(found)
    configuration = Configuration(rulesets={ruleset.name: ruleset}, default=ruleset.name)
    rules_in_force = Rules(registry=found, configuration=configuration)
    return create_app(rules=rules_in_force).test_client()


def fit(**inputs):
    return {**FIT, "local": {"hall-lanes": inputs}}


def archers(**inputs):
    first, *others = EXAMPLES["kit/assignments"]["archers"]
    return {
        **EXAMPLES["kit/assignments"],
        "archers": [{**first, "local": {"hall-lanes": inputs}}, *others],
    }


@pytest.mark.parametrize(
    ("path", "body", "told"),
    [
        ("fit-check", fit(lane=2), "local.hall-lanes.lane"),
        ("fit-check", fit(number=2), None),
        ("fit-check", {**FIT}, None),
        ("fit-check/batch", {"items": [FIT, fit(lane=2)]}, "items.local.hall-lanes.lane"),
        ("fit-check/batch", {"items": [FIT, fit(number=2)]}, None),
        ("fit-check/batch", {"items": [{**FIT, "id": "lane"}]}, None),
        ("kit/assignments", archers(lane=2), "archers.local.hall-lanes.lane"),
        ("kit/assignments", archers(number=2), None),
    ],
)
def test_an_input_of_a_plugin_is_told_where_it_stands(client, path, body, told):
    response = client.post(f"/v1/{path}", json=body)
    assert response.status_code == 200
    assert response.headers.get("Deprecation") == (SINCE if told else None)
    assert "Sunset" not in response.headers
    words = "Deprecated since 2027-03-01. Use ?number?."
    title = f'title="{told}: {words}"' if told else None
    assert response.headers.get("Link", "").partition('html"; ')[2] == (title or "")


@pytest.mark.parametrize(("inputs", "told"), [({"lane": 2}, SINCE), ({"number": 2}, None)])
def test_a_stream_is_told_before_its_first_line(client, inputs, told):
    lines = "\n".join(map(json.dumps, ({"not": "a lane"}, fit(**inputs), FIT)))
    response = client.post(
        "/v1/fit-check/batch", data=lines + '\n{"lane":', content_type="application/x-ndjson"
    )
    assert [json.loads(line).get("status") for line in response.text.splitlines()] == [
        422,
        200,
        200,
        400,
        None,
    ]
    assert response.headers.get("Deprecation") == told


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (b'{"bow": {"old": 1}}', True),
        (b'[{"bow": {}}, {"bow": {"old": null}}]', True),
        (b'{"arrow": {"old": 1}, "bow": {"id": "old"}}', False),
        (b'{"bow": "old"}', False),
        (b'{"bow": {"old": 1', False),
        (b"[" * 5000 + b"old", False),
        (b"", False),
    ],
)
def test_only_the_member_itself_is_told(body, told):
    mark = Deprecated(since=date(2027, 3, 1), instead="Use new.")
    members = DeprecatedMembers([(("bow", "old"), mark)], "spine")
    assert bool(members.headers_for([b"{}", body])) == told


def test_headers_stay_short_enough_for_a_proxy():
    marks = [
        ((f"input_{n}",), Deprecated(since=date(2027, 3, n), instead="i" * LONGEST_TEXT))
        for n in range(1, 31)
    ]
    body = json.dumps({path[0]: 1 for path, _ in marks}).encode()
    headers = DeprecatedMembers(marks, "spine").headers_for([body])
    assert ("Deprecation", SINCE) in headers
    # nginx takes 16 KiB for all headers of an answer (docker/nginx/nginx.conf).
    assert 5 < sum(name == "Link" for name, _ in headers) <= 10
    assert sum(len(name) + len(value) for name, value in headers) < 8 * 1024


def test_the_look_at_a_long_stream_ends_at_its_deadline():
    mark = Deprecated(since=date(2027, 3, 1), instead="Use new.")
    deadline.begin(0.0)
    try:
        with pytest.raises(DeadlinePassed):
            DeprecatedMembers([(("old",), mark)], "spine").headers_for([b"{}"])
    finally:
        deadline.end()


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ({"since": "soon", "instead": "Use x."}, "isoformat"),
        ({"since": "2027-03-01", "until": "2027-02-01", "instead": "Use x."}, "is before"),
    ],
)
def test_days_that_make_no_sense_are_refused(written, words):
    with pytest.raises(ValueError, match=words):
        deprecated(length(0.0, 1.0, "d", default=None), **written)
