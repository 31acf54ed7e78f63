"""The plugins of this repository: packages of their own that stand on the public API."""

import ast
import json
import re
import tomllib
from dataclasses import fields
from pathlib import Path

import pytest

from drawmark.rules import testing
from drawmark.rules.configuration import configure
from drawmark.rules.registry import GROUP, Registry, load
from drawmark.rules.text_values import read
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES

ROOT = Path(__file__).parents[2]
PACKAGES = sorted((ROOT / "plugins").glob("*/pyproject.toml"))
ALLOWED = ("drawmark.rules", "drawmark.fitting")


def named(path):
    return path.parent.name


def imports_of(path):
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("path", PACKAGES, ids=named)
def test_a_package_of_its_own(path):
    project = tomllib.loads(path.read_text())["project"]
    name = named(path)
    assert project["name"] == f"drawmark-{name}"
    assert project["license"] == "MIT"
    assert list(project["entry-points"]) == [GROUP]
    assert list(project["entry-points"][GROUP]) == [name]
    assert (path.parent / "LICENSE").read_bytes() == (ROOT / "service/LICENSE").read_bytes()
    assert (path.parent / "README.md").read_text().startswith(f"# drawmark-{name}\n")


@pytest.mark.parametrize("path", PACKAGES, ids=named)
def test_it_imports_rules_and_fitting_only(path):
    modules = [one for one in path.parent.rglob("*.py") if one.parent.name != "tests"]
    assert modules
    own = f"drawmark_{named(path).replace('-', '_')}"
    for module in modules:
        for name in imports_of(module):
            if name.startswith("drawmark") and not name.startswith(f"{own}."):
                assert name.startswith(ALLOWED), f"{module.name} imports {name}"
                assert "testing" not in name


@pytest.mark.parametrize("path", PACKAGES, ids=named)
def test_its_tests_use_the_kit_only(path):
    tests = list((path.parent / "tests").glob("test_*.py"))
    assert tests
    for test in tests:
        found = {name for name in imports_of(test) if name.startswith("drawmark.")}
        assert found == {"drawmark.rules.testing"}


@pytest.mark.parametrize("path", PACKAGES, ids=named)
def test_every_rule_of_it_has_columns(path):
    for rule in testing.plugin(named(path)).rules:
        assert rule.check_many is not None


@pytest.mark.parametrize("path", PACKAGES, ids=named)
def test_the_configuration_in_its_readme_is_read(path, tmp_path):
    text = (path.parent / "README.md").read_text()
    (tmp_path / "club.toml").write_text(text.split("```toml\n")[1].split("```")[0])
    registry = load()
    configuration = configure(registry, tmp_path / "club.toml")
    (ruleset,) = configuration.rulesets.values()
    assert [group.plugin for group in ruleset.groups] == ["core", named(path)]


def words_in(text, column):
    rows = [line.split("|") for line in text.splitlines() if line.startswith("| `")]
    return [re.search(r"`([^`]+)`", row[column])[1] for row in rows]


@pytest.mark.parametrize("path", PACKAGES, ids=named)
def test_its_readme_names_every_rule_setting_and_input(path):
    text = (path.parent / "README.md").read_text()
    plugin = testing.plugin(named(path))
    # club-minimums has a rule for each setting, whose name comes first.
    heading, *_ = re.findall(r"^\| (\w+) \|", text, re.MULTILINE)
    listed = words_in(text, {"rule": 1, "setting": 2}[heading])
    assert [name for name in (rule.id for rule in plugin.rules) if name not in listed] == []
    for cls in (plugin.settings, plugin.inputs):
        for field in () if cls is None else fields(cls):
            assert re.search(rf"[`\"]{field.name}[`\"]", text), field.name


def test_a_table_of_settings_names_each_in_its_order():
    minimums = testing.plugin("club-minimums")
    text = (ROOT / "plugins/club-minimums/README.md").read_text()
    assert words_in(text, 2) == [rule.id for rule in minimums.rules]
    assert words_in(text, 1) == [field.name for field in fields(minimums.settings)]


def test_readme_tells_the_defaults_of_clearances():
    clearances = testing.plugin("clicker-clearance").settings()
    text = (ROOT / "plugins/clicker-clearance/README.md").read_text()
    written = tomllib.loads(text.split("```toml\n")[1].split("```")[0])
    chosen = written["rulesets"]["recurve"]["settings"]["clicker-clearance"]
    assert read(type(clearances), chosen) == clearances


def test_the_request_in_a_readme_is_answered():
    text = (ROOT / "plugins/clicker-clearance/README.md").read_text()
    part = json.loads(text.split("```json\n")[1].split("```")[0])
    body = {**EXAMPLES["fit-check"], **part}
    body["bow"] = {**body["bow"], "rest_position": {"value": 70, "unit": "mm"}}
    answer = create_app().test_client().post("/v1/fit-check", json=body).get_json()
    # The aid stands 10 mm ahead of the rest, and 20 mm are asked for.
    assert "aid-from-rest" in {one["rule"] for one in answer["findings"]}


def test_all_are_in_force_together_without_a_configuration():
    found = load()
    here = {named(path) for path in PACKAGES} | {"core"}
    registry = Registry(plugins=tuple(one for one in found.plugins if one.name in here))
    assert {one.name for one in registry.active} == here
    ruleset = configure(registry).rulesets["default"]
    # club-minimums asks for nothing until a club says what.
    assert {group.plugin for group in ruleset.groups} == here - {"club-minimums"}
