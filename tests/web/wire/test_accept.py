"""JSON, unless another type that is offered is asked for with a higher quality (RFC 9110)."""

from __future__ import annotations

import pytest

from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.accept import CSV, DRAWN, HTML, JSON, LONGEST_ACCEPT, SVG, choose_type


@pytest.mark.parametrize(
    ("header", "chosen"),
    [
        pytest.param("", JSON, id="nothing asked"),
        pytest.param("*/*", JSON, id="anything"),
        pytest.param("text/csv", CSV, id="csv"),
        pytest.param("TEXT/CSV", CSV, id="case does not matter"),
        pytest.param("text/*", CSV, id="any text"),
        pytest.param("application/json, text/csv", JSON, id="both alike"),
        pytest.param("text/csv, application/json", JSON, id="order does not matter"),
        pytest.param("text/csv, application/json;q=0.9", CSV, id="csv more"),
        pytest.param("text/csv;q=0.5, application/json;q=0.6", JSON, id="json more"),
        pytest.param("text/csv, */*;q=0.1", CSV, id="csv, else anything"),
        pytest.param("text/csv;q=0.1, */*", JSON, id="rather not csv"),
        pytest.param("text/csv;q=0", JSON, id="no csv"),
        pytest.param("image/png", JSON, id="nothing that is offered"),
        pytest.param("text/csv;q=nonsense", JSON, id="a quality that is none"),
    ],
)
def test_choice(header, chosen):
    assert choose_type(header, (CSV,)) == chosen


@pytest.mark.parametrize("longer", [0, 1])
def test_of_a_long_header_nothing_is_read(monkeypatch, longer):
    """Reading takes a second a megabyte, and what was read is kept."""
    header = "text/csv".ljust(LONGEST_ACCEPT + longer)
    if longer:
        monkeypatch.delattr("drawmark.web.wire.accept.parse_accept_header")
    assert choose_type(header, (CSV,)) == (JSON if longer else CSV)


def test_best_of_several():
    assert choose_type("text/html;q=0.8, text/csv;q=0.9", (HTML, CSV)) == CSV


@pytest.mark.parametrize(
    ("path", "header", "kind"),
    [
        ("order", None, "application/json"),
        ("order", "text/csv", "text/csv; charset=utf-8"),
        ("order", "image/png", "application/json"),
        ("cut-plan", "text/csv", "application/json"),
    ],
)
def test_reply_has_the_type_and_says_on_what_it_hangs(client, path, header, kind):
    headers = {} if header is None else {"Accept": header}
    reply = client.post(f"/v1/{path}", json=EXAMPLES[path], headers=headers)
    assert (reply.status_code, reply.content_type) == (200, kind)
    assert reply.headers["Vary"] == "Accept"


def test_errors_stay_problems(client):
    reply = client.post("/v1/order", json={"sets": []}, headers={"Accept": "text/csv"})
    assert (reply.status_code, reply.content_type) == (422, "application/problem+json")


@pytest.mark.parametrize(
    ("path", "more"),
    [
        ("order", [CSV, HTML]),
        ("fit-check", [SVG, HTML]),
        ("minimum-length", []),
    ],
)
def test_types_are_in_the_document(client, path, more):
    paths = client.get("/openapi.json").get_json()["paths"]
    content = paths[f"/v1/{path}"]["post"]["responses"]["200"]["content"]
    assert sorted(content) == sorted([JSON, *more])


@pytest.mark.parametrize(
    ("path", "kind"), [(path, kind) for path, kinds in DRAWN.items() for kind in kinds]
)
def test_every_drawn_type_is_answered(client, path, kind):
    reply = client.post(f"/v1/{path}", json=EXAMPLES[path], headers={"Accept": kind})
    assert (reply.status_code, reply.content_type) == (200, f"{kind}; charset=utf-8")
    assert reply.headers["Vary"] == "Accept"
