"""The coach's page: who gets it, what a browser lets it do, and that it names no other host."""

from __future__ import annotations

import re

import pytest

from drawmark.web import create_app
from drawmark.web.bench import PATHS
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules

BROWSER = "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"
FILES = sorted(PATHS - {"/"})


@pytest.mark.parametrize(
    ("accept", "status", "kind"),
    [
        (BROWSER, 200, "text/html"),
        ("text/html", 200, "text/html"),
        ("*/*", 404, "application/problem+json"),
        ("application/json", 404, "application/problem+json"),
        (None, 404, "application/problem+json"),
    ],
)
def test_only_who_asks_for_a_page_gets_it(client, accept, status, kind):
    answer = client.get("/", headers={} if accept is None else {"Accept": accept})
    assert (answer.status_code, answer.mimetype) == (status, kind)


def test_a_browser_runs_and_asks_only_what_the_service_sends(client):
    policy = client.get("/", headers={"Accept": BROWSER}).headers["Content-Security-Policy"]
    allowed = dict(part.strip().split(" ", 1) for part in policy.split(";"))
    assert allowed["default-src"] == "'none'"
    assert allowed["script-src"] == allowed["connect-src"] == allowed["img-src"] == "'self'"
    assert re.fullmatch(r"'self'( 'sha256-[\w+/]+=*')+", allowed["style-src"])
    assert allowed["frame-ancestors"] == allowed["base-uri"] == allowed["form-action"] == "'none'"


def test_page_has_no_script_or_style_of_its_own_and_only_relative_links(client):
    page = client.get("/", headers={"Accept": BROWSER}).text
    assert not re.search(r"<style| style=| on\w+=|<script(?! type=\"module\" src=)", page)
    links = re.findall(r'(?:src|href)="([^"]*)"', page)
    assert {"bench.css", "bench.js", "bench.svg", "docs"} <= set(links)
    assert not [one for one in links if re.match(r"[a-z]+:|/", one)]


@pytest.mark.parametrize("path", FILES)
def test_files_name_no_other_host(client, path):
    answer = client.get(path)
    assert answer.status_code == 200
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    hosts = set(re.findall(r"\w+://[^\s\"']+", answer.text))
    assert hosts <= {"http://www.w3.org/2000/svg"}


@pytest.mark.parametrize(("is_on", "status"), [(True, 200), (False, 401)])
def test_page_needs_no_token_and_can_be_switched_off(tmp_path, is_on, status):
    tokens = tmp_path / "tokens"
    tokens.write_text(f"club {'0' * 64}\n")
    settings = Settings(tokens_file=str(tokens), bench=is_on)
    client = create_app(settings, core_rules()).test_client()
    found = {path: client.get(path, headers={"Accept": BROWSER}).status_code for path in PATHS}
    assert found == dict.fromkeys(PATHS, status)
    assert client.post("/v1/fit-check", json={}).status_code == 401


def test_switched_off_nothing_is_there():
    client = create_app(Settings(bench=False), core_rules()).test_client()
    assert {client.get(path, headers={"Accept": BROWSER}).status_code for path in PATHS} == {404}
