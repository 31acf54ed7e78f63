"""Plugins of the last release load and judge; what they use that is on its way out is told."""

from __future__ import annotations

import subprocess
import sys
import tomllib

import pytest

from compatibility import released
from drawmark.rules.conformance import CHECKS, Conformance

FOLDERS = sorted((released.FOLDER / "plugins").iterdir())


def test_they_load(loaded):
    assert [(one.name, one.status, one.error) for one in loaded.plugins] == [
        (folder.name, "active", None) for folder in FOLDERS
    ]
    assert {one.version for one in loaded.plugins} == {
        tomllib.loads((folder / "pyproject.toml").read_text())["project"]["version"]
        for folder in FOLDERS
    }


def test_the_catalogue_tells_what_is_on_its_way_out(club):
    listed = club.get("/v1/plugins").get_json()["plugins"]
    assert {one["plugin"]: one["deprecated"] for one in listed} == {
        "core": [],
        "clicker-clearance": [
            "It uses facts.mean_draw. Use facts.draw instead: the older name goes with version 2 "
            "of the plugin API."
        ],
        "club-minimums": [],
    }


@pytest.mark.long
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_they_keep_to_what_a_plugin_must(loaded):
    conformances = [Conformance(plugin, trials=50) for plugin in loaded.plugins]
    # Since 1.0 meanings are whole sentences, which costs a plugin nothing in the service.
    checks = [check for check in CHECKS if check != "documentation"]
    assert [
        fault for one in conformances for check in checks for fault in one.failures(check)
    ] == []


@pytest.mark.long
def test_their_own_tests_pass():
    """Run them with the kit of today; its look for mistakes is held above."""
    paths = [str(folder) for folder in FOLDERS]
    modules = [str(next(folder.glob("drawmark_*.py"))) for folder in FOLDERS]
    tests = [str(folder / "tests") for folder in FOLDERS]
    code = f"""
import importlib, pathlib, sys, pytest
sys.path[:0] = {paths}
for module in {modules}:
    assert importlib.import_module(pathlib.Path(module).stem).__file__ == module
options = "-q --noconftest -c /dev/null -p no:cacheprovider --import-mode=importlib".split()
sys.exit(pytest.main([*options, "-k", "not conformance", *{tests}]))
"""
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=120, cwd=FOLDERS[0]
    )
    assert done.returncode == 0, done.stdout + done.stderr
