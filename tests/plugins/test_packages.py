"""The plugins of this repository: packages of their own that stand on the public API."""

import ast
import tomllib
from pathlib import Path

import pytest

from drawmark.rules import testing
from drawmark.rules.registry import GROUP, Registry, load
from drawmark.rules.rulesets import configure

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
    for module in path.parent.glob("*.py"):
        for name in imports_of(module):
            if name.startswith("drawmark") and name != f"drawmark_{named(path)}":
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


def test_all_are_in_force_together_without_a_configuration():
    found = load()
    here = {named(path) for path in PACKAGES} | {"core"}
    registry = Registry(plugins=tuple(one for one in found.plugins if one.name in here))
    assert {one.name for one in registry.active} == here
    ruleset = configure(registry).rulesets["default"]
    # club-minimums asks for nothing until a club says what.
    assert {group.plugin for group in ruleset.groups} == here - {"club-minimums"}
