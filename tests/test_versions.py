"""Service, document and plugin API each state their version in one place; all others follow."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.version import Version

import drawmark
from drawmark import rules
from drawmark.cli import main
from drawmark.fitting.facts import RENAMED
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.document.examples.readings import EXAMPLES as READINGS
from drawmark.web.document.openapi import VERSION, document_of
from drawmark.web.wire.installed_rules import core_rules

ROOT = Path(__file__).parents[1]
STATED = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"]
PAGE = (ROOT / "service/docs/versions.md").read_text()
CHANGES = (ROOT / "service/CHANGES.md").read_text()


@pytest.fixture(scope="module")
def client():
    return create_app(rules=core_rules()).test_client()


def of_image():
    return re.search(r"^ARG VERSION=(.+)$", (ROOT / "docker/Dockerfile").read_text(), re.M)[1]


PLACES = {
    "package": lambda client: drawmark.__version__,
    "image": lambda client: of_image(),
    "health": lambda client: client.get("/healthz").get_json()["version"],
    "readiness": lambda client: client.get("/readyz").get_json()["version"],
    "answer": lambda client: client.post("/v1/fit-check", json=EXAMPLES["fit-check"]).get_json()[
        "engine"
    ]["version"],
    "metrics": lambda client: re.search('version="([^"]+)"', client.get("/metrics").text)[1],
    "last section of the changes": lambda client: re.findall(r"^## (\d\S+)", CHANGES, re.M)[0],
}


@pytest.mark.parametrize("place", PLACES)
def test_the_services_version_is_the_same_everywhere(client, place):
    assert PLACES[place](client) == STATED


@pytest.mark.parametrize(
    "path", sorted((ROOT / "plugins").glob("*/pyproject.toml")), ids=lambda path: path.parent.name
)
def test_a_plugin_may_be_installed_beside_this_version(path):
    (needed,) = map(Requirement, tomllib.loads(path.read_text())["project"]["dependencies"])
    assert needed.name == "drawmark"
    assert needed.specifier.contains(STATED)
    assert not needed.specifier.contains("0.1.0")
    assert not needed.specifier.contains(f"{Version(STATED).major + 1}.0")


def test_a_new_plugin_states_what_it_was_written_for(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["plugin", "new", "east-hall"]) == 0
    project = tomllib.loads((tmp_path / "east-hall/pyproject.toml").read_text())["project"]
    assert project["dependencies"] == [f"drawmark>={STATED},<{Version(STATED).major + 1}"]


def test_the_document_has_a_version_of_its_own():
    assert document_of(core_rules())["info"]["version"] == VERSION
    assert READINGS["openapi"]["info"]["version"] == VERSION


def test_the_services_version_grows_with_the_others():
    assert Version(STATED).major >= Version(VERSION).major
    assert Version(STATED).major >= Version(rules.API_VERSION).major


def test_the_page_says_which_versions_these_are():
    rows = re.findall(r"^\| the (service|document|plugin API)\b[^|]*\| ([\d.]+) \|", PAGE, re.M)
    assert dict(rows) == {"service": STATED, "document": VERSION, "plugin API": rules.API_VERSION}


def deprecated_in(schema):
    if isinstance(schema, dict):
        for name, member in schema.get("properties", {}).items():
            if member is not False and member.get("deprecated"):
                yield name
        for inner in schema.values():
            yield from deprecated_in(inner)


def test_the_page_lists_what_is_on_its_way_out():
    section = PAGE.partition("On their way out today")[2].partition("\n## ")[0]
    named = {text.rpartition(".")[2] for text in re.findall("`([^`]+)`", section)}
    found = {*deprecated_in(document_of(core_rules())), *RENAMED, "local"}
    assert found <= named
