"""`drawmark plugin new` and `drawmark plugin check`, run as an author runs them."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from drawmark.cli import main


def run(*words, path=None, cwd=None):
    """Run a command with more packages on the path."""
    given = dict(os.environ) if path is None else {**os.environ, "PYTHONPATH": str(path)}
    return subprocess.run(
        [sys.executable, *words], env=given, cwd=cwd, capture_output=True, text=True, timeout=300
    )


def install(site, name, source):
    """Put a plugin on a path with the record that an installer writes."""
    module = name.replace("-", "_")
    record = site / f"{module}-1.0.dist-info"
    record.mkdir(parents=True)
    (site / f"{module}.py").write_text(source)
    (record / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.0\n")
    (record / "entry_points.txt").write_text(f"[drawmark.rules.v1]\n{name} = {module}\n")


def test_a_new_plugin_is_written_once(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["plugin", "new", "east-hall"]) == 0
    written = {str(one.relative_to(tmp_path)) for one in tmp_path.rglob("*") if one.is_file()}
    assert written == {
        "east-hall/pyproject.toml",
        "east-hall/README.md",
        "east-hall/east_hall.py",
        "east-hall/tests/test_east_hall.py",
    }
    (tmp_path / "east-hall/east_hall.py").write_text("# mine")
    assert main(["plugin", "new", "east-hall"]) == 2
    assert "east-hall is there already: nothing was written" in capsys.readouterr().err
    assert (tmp_path / "east-hall/east_hall.py").read_text() == "# mine"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("East Hall", "is not a name"),
        ("../hall", "is not a name"),
        ("core", "is taken"),
        ("club-file", "is taken"),
        ("json", "is taken: a module json is installed"),
        ("drawmark", "is taken: a module drawmark is installed"),
    ],
)
def test_a_name_that_cannot_be_used_is_one_line(tmp_path, monkeypatch, capsys, name, words):
    monkeypatch.chdir(tmp_path)
    assert main(["plugin", "new", name]) == 2
    error = capsys.readouterr().err
    assert words in error
    assert len(error.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


@pytest.mark.long
def test_a_new_plugin_is_installed_tested_and_checked(tmp_path):
    assert run("-m", "drawmark.cli", "plugin", "new", "east-hall", cwd=tmp_path).returncode == 0
    top, site = tmp_path / "east-hall", tmp_path / "site"
    done = run("-m", "pip", "install", "-q", "--no-deps", "--target", str(site), str(top))
    assert done.returncode == 0, done.stderr
    tested = run("-m", "pytest", "-q", "-c", "pyproject.toml", "tests", path=site, cwd=top)
    assert tested.returncode == 0, tested.stdout
    assert "12 passed" in tested.stdout
    checked = run("-m", "drawmark.cli", "plugin", "check", "east-hall", path=site)
    assert checked.returncode == 0, checked.stdout + checked.stderr
    assert checked.stdout.startswith("east-hall 0.1.0: margin\n")
    assert checked.stdout.endswith("no fault found\n")


HEAD = """
import os, time
from dataclasses import dataclass
import numpy as np
from drawmark import rules


@dataclass(frozen=True)
class Lane:
    number: int = rules.whole(1, 9, "Number of the lane.", default=3)
    label: str = rules.text(12, "Label of the lane.", default="")


COUNT = [0]
SHARED = np.zeros(3)


def rule(check, id="r", **more):
    return rules.Rule(**{"id": id, "title": "A rule under test.", "check": check, **more})


"""
TAIL = """

@rules.hookimpl
def drawmark_rules():
    return RULES
"""
FAULTS = {
    "declarations": (
        "RULES = [rule(lambda case: [], gives=frozenset({'advice'}))]",
        "FAILED: hall 1.0 does not load: rule r: gives is not a frozenset of ceiling, finding",
    ),
    "one rule in place of a list": (
        "RULES = rule(lambda case: [])",
        "FAILED: hall 1.0 does not load: ",
    ),
    "documentation": (
        "RULES = [rule(lambda case: [], title='no sentence')]",
        "    rule r: the title 'no sentence' needs a capital at its start and a full stop at its",
    ),
    "speed": (
        "def check(case):\n"
        "    end = time.thread_time() + 0.15\n"
        "    while time.thread_time() < end: pass\n"
        "    return []\n"
        "RULES = [rule(check)]",
        "    rule r: took 0.|    rule r: ran longer than 250 ms|    rule r: is off",
    ),
    "answers": (
        "RULES = [rule(lambda case: [rules.stop('Light.', when=case.arrow.mass < 0.01)])]",
        "    rule r: raised TypeError: '<' not supported",
    ),
    "hostile inputs": (
        "def check(case):\n"
        "    return [rules.note('Lane.', when=case.inputs.label[:1].encode('ascii') > b'a')]\n"
        "RULES = [rule(check, inputs=Lane, needs=('local',))]",
        "    rule r: raised UnicodeEncodeError",
    ),
    "purity": (
        "def check(case):\n"
        "    COUNT[0] += 1\n"
        "    return [rules.note(f'Call {COUNT[0]}.')]\n"
        "RULES = [rule(check)]",
        "    rule r: does not say the same twice",
    ),
    "order of draws": (
        "RULES = [rule(lambda case: [rules.floor(1.2 - case.facts.draw, 'Falls.')])]",
        "    rule r: its floor falls with a draw 5 mm longer: from ",
    ),
    "columns": (
        "def check(case):\n"
        "    return [rules.note('Even.', when=case.inputs.number % 2 == 0)]\n"
        "def check_many(case):\n"
        "    return [rules.note('Even.', when=case.inputs.number % 2 == 1)]\n"
        "RULES = [rule(check, check_many=check_many, inputs=Lane, needs=('local',))]",
        "    rule r: its check_many says ",
    ),
    "rules together": (
        "def fill(figure):\n"
        "    def check_many(case):\n"
        "        SHARED[:] = figure\n"
        "        return [rules.floor(SHARED, 'Shared.')]\n"
        "    return check_many\n"
        "RULES = [rule(lambda case: [rules.floor(0.5, 'Shared.')], 'one', check_many=fill(0.5)),\n"
        "         rule(lambda case: [rules.floor(0.6, 'Shared.')], 'two', check_many=fill(0.6))]",
        "    rule one: an array that it returned changes when rule two speaks",
    ),
    "the process ends": (
        "RULES = [rule(lambda case: os._exit(3))]",
        "FAILED: the plugin ended the process in this check, with status 3",
    ),
}


@pytest.mark.long
@pytest.mark.parametrize(("source", "words"), FAULTS.values(), ids=FAULTS)
def test_a_fault_is_reported(tmp_path, source, words):
    install(tmp_path, "hall", HEAD + source + TAIL)
    done = run("-m", "drawmark.cli", "plugin", "check", "hall", "--trials=40", path=tmp_path)
    assert done.returncode == 1
    assert any(one in done.stdout for one in words.split("|")), done.stdout
    assert "Traceback" not in done.stdout
    assert max(map(len, done.stdout.splitlines())) < 500


@pytest.mark.long
def test_a_plugin_that_is_not_installed_is_told():
    done = run("-m", "drawmark.cli", "plugin", "check", "no-such-plugin")
    assert done.returncode == 1
    assert "'no-such-plugin' is not installed; installed plugins: " in done.stdout
