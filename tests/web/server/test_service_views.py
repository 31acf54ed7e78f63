"""Health, readiness and the document as a page."""

from __future__ import annotations

import base64
import dataclasses
import hashlib
import re
from html.parser import HTMLParser

import pytest

from drawmark.rules.configuration import Configuration
from drawmark.rules.rule_set import Absent
from drawmark.web import create_app
from drawmark.web.document.listings import LISTINGS
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import Rules, core_rules
from web.documented import answer_schema


def lacking(name):
    rules = core_rules()
    (ruleset,) = rules.configuration.rulesets.values()
    lacks = dataclasses.replace(ruleset, missing=(Absent(name=name, reason="is not installed"),))
    return Rules(
        registry=rules.registry,
        configuration=Configuration(rulesets={ruleset.name: lacks}, default=ruleset.name),
    )


def test_ready_with_version_and_revision():
    client = create_app(Settings(revision="abc123"), core_rules()).test_client()
    response = client.get("/readyz")
    assert response.status_code == 200
    assert response.get_json()["revision"] == "abc123"


def test_not_ready_and_nothing_passes_without_a_required_plugin():
    from drawmark.web.document.examples import EXAMPLES

    client = create_app(rules=lacking("hall-rules")).test_client()
    response = client.get("/readyz")
    assert response.status_code == 503
    assert response.mimetype == "application/problem+json"
    assert "hall-rules" in response.get_json()["detail"]
    assert client.get("/healthz").status_code == 200
    answer = client.post("/v1/fit-check", json=EXAMPLES["fit-check"]).get_json()
    assert answer["verdict"] == "indeterminate"


@pytest.mark.parametrize("name", sorted(set(LISTINGS) - {"docs", "metrics"}))
def test_what_is_read_is_as_documented(client, name):
    response = client.get(LISTINGS[name].path)
    document = client.get("/openapi.json").get_json()
    answer_schema(document, LISTINGS[name].path, "get").validate(response.get_json())


class Outline(HTMLParser):
    def __init__(self):
        super().__init__()
        self.names, self.listed, self.loads = [], [], []

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        if tag == "h2":
            self.names.append(attrs["id"])
        if tag == "a" and attrs["href"].startswith("#"):
            self.listed.append(attrs["href"][1:])
        if "src" in attrs or tag in ("link", "img", "iframe"):
            self.loads.append(tag)


def test_page_names_every_operation_and_loads_nothing(client):
    response = client.get("/docs")
    assert response.mimetype == "text/html"
    (style,) = re.findall(r"<style>(.*?)</style>", response.text, re.DOTALL)
    (script,) = re.findall(r"<script type=.module.>(.*?)</script>", response.text, re.DOTALL)
    digest, script_digest = (
        base64.b64encode(hashlib.sha256(one.encode()).digest()).decode() for one in (style, script)
    )
    assert response.headers["Content-Security-Policy"].split("; ") == [
        "default-src 'none'",
        f"style-src 'sha256-{digest}'",
        f"script-src 'sha256-{script_digest}'",
        "connect-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    ]
    assert " style=" not in response.text
    outline = Outline()
    outline.feed(response.text)
    paths = client.get("/openapi.json").get_json()["paths"]
    assert sorted(outline.names) == sorted(
        operation["operationId"] for methods in paths.values() for operation in methods.values()
    )
    assert outline.listed == outline.names
    assert outline.loads == []


def test_units_state_the_range_of_each_field(client):
    units = {unit["unit"]: unit for unit in client.get("/v1/units").get_json()["units"]}
    fields = {one["field"]: one for one in units["in"]["fields"]}
    # 0.30 m to 1.10 m, an inch being 25.4 mm exactly
    assert fields["archer.draw_length"]["least"] == pytest.approx(300 / 25.4, abs=1e-4)
    assert fields["archer.draw_length"]["greatest"] == pytest.approx(1100 / 25.4, abs=1e-4)
    assert "arrow.shaft.stations.position" in fields
    assert fields.keys().isdisjoint(one["field"] for one in units["gr"]["fields"])
