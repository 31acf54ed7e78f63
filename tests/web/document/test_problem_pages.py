"""The type of each problem is the path of a page that explains it."""

from __future__ import annotations

import re

import pytest

from drawmark.web import create_app
from drawmark.web.document.problem_pages import PAGES
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules
from drawmark.web.wire.problems import TITLES, problem


@pytest.mark.parametrize("status", sorted(TITLES))
def test_type_leads_to_a_page_in_plain_words(client, status):
    page = client.get(problem(status, "")["type"])
    assert (page.status_code, page.mimetype) == (200, "text/html")
    assert f"<h1>{status} {TITLES[status]}</h1>" in page.text
    meaning, advice = re.findall("<p>(.*?)</p>", page.text)
    assert len(meaning) > 20
    assert len(advice) > 20
    assert page.headers["Content-Security-Policy"].startswith("default-src 'none'")


@pytest.mark.parametrize(
    ("path", "body", "status"),
    [("/nowhere", None, 404), ("/v1/fit-check", {}, 422), ("/v1/fit-check", None, 415)],
)
def test_problems_name_their_type(client, path, body, status):
    refused = client.post(path, json=body) if body is not None else client.post(path)
    told = refused.get_json()
    assert told["status"] == status
    assert PAGES[told["type"]] == status


def test_pages_need_no_token(tmp_path):
    tokens = tmp_path / "tokens"
    tokens.write_text(f"club {'0' * 64}\n")
    client = create_app(Settings(tokens_file=str(tokens)), core_rules()).test_client()
    refused = client.post("/v1/fit-check", json={})
    assert refused.status_code == 401
    assert client.get(refused.get_json()["type"]).status_code == 200


def test_an_unknown_status_has_no_page(client):
    assert problem(418, "")["type"] == "about:blank"
    assert client.get("/problems/418").status_code == 404
