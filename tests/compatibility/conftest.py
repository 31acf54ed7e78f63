"""The club of the last release: its file and its plugins, in today's service."""

from __future__ import annotations

import tomllib
from importlib.metadata import distributions

import pytest

from compatibility import released
from drawmark.rules import registry
from drawmark.rules.registry import Registry
from drawmark.web import create_app
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules, installed_rules

collect_ignore = ["released"]


@pytest.fixture(scope="session")
def loaded(tmp_path_factory):
    """The plugins of the last release, installed and loaded beside those of today."""
    site = tmp_path_factory.mktemp("released")
    for folder in sorted((released.FOLDER / "plugins").iterdir()):
        project = tomllib.loads((folder / "pyproject.toml").read_text())["project"]
        ((name, module),) = project["entry-points"][registry.GROUP].items()
        # The same module of today may be loaded already, under its own name.
        (site / f"released_{module}.py").write_text((folder / f"{module}.py").read_text())
        info = site / f"released_{module}-{project['version']}.dist-info"
        info.mkdir()
        (info / "METADATA").write_text(f"Name: {name}\nVersion: {project['version']}\n")
        points = f"[{registry.GROUP}]\n{name} = released_{module}\n"
        (info / "entry_points.txt").write_text(points)
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(site)
        found = distributions(path=[str(site)])
        return registry.load_from(point for one in found for point in one.entry_points)


@pytest.fixture(scope="session")
def club(loaded):
    """Today's service with that club's file and plugins."""
    found = Registry(plugins=(*core_rules().registry.plugins, *loaded.plugins))
    rules = installed_rules(str(released.FOLDER / "club.toml"), found)
    return create_app(Settings(log_requests=False), rules).test_client()


@pytest.fixture(scope="session")
def found():
    """The differences that tests have found."""
    return set()
