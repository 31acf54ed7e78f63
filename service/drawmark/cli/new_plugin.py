"""Writes the distribution of a new plugin: a rule that works, its test and a README."""

from __future__ import annotations

import importlib.metadata
import importlib.util
from pathlib import Path

from drawmark.errors import UserError
from drawmark.rules.declarations import is_name
from drawmark.rules.model import CORE
from drawmark.rules.registry import GROUP
from drawmark.rules.stated_rules import CLUB_FILE

_PROJECT = """\
[build-system]
requires = ["setuptools>=61"]
build-backend = "setuptools.build_meta"

[project]
name = "{name}"
version = "0.1.0"
description = "Local rules for Drawmark"
readme = "README.md"
requires-python = ">=3.11"
dependencies = ["drawmark>={version},<{next}"]

[project.entry-points."{group}"]
{name} = "{module}"

[tool.setuptools]
py-modules = ["{module}"]
"""
_MODULE = '''\
"""Local rules for Drawmark."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from drawmark import rules


@dataclass(frozen=True)
class Settings:
    """What the club's file may set."""

    margin: float = rules.length(
        0.0,
        rules.inches(8),
        "How far the shaft must reach past the back of the bow at full draw.",
        default=rules.inches(1.5),
    )


def check_margin(case: rules.Case) -> Iterable[rules.Said]:
    """Add a floor: the draw, its growth and spread, the back of the bow, and the margin."""
    facts = case.facts
    terms = (
        rules.Term("draw to the pivot point", facts.draw),
        rules.Term("growth allowance", facts.growth),
        rules.Term("spread of the draw", facts.spread_allowance),
        rules.Term("back of the bow", facts.back),
        rules.Term("our margin", case.settings.margin),
    )
    yield rules.floor(
        facts.draw + facts.growth + facts.spread_allowance + facts.back + case.settings.margin,
        "Our club asks for its margin past the back of the bow.",
        terms=terms,
    )


@rules.hookimpl
def drawmark_rules() -> list[rules.Rule]:
    """Give the plugin's rules."""
    return [
        rules.Rule(
            id="margin",
            title="The shaft reaches past the back of the bow by our margin.",
            check=check_margin,
            check_many=check_margin,
            gives=frozenset({{"floor"}}),
            settings=Settings,
        )
    ]
'''
_TEST = '''\
"""The rules of the plugin, by the public kit alone."""

import {module}
import pytest

from drawmark.rules import testing

pytest_plugins = ["drawmark.pytest_plugin"]
PLUGIN = testing.plugin({module}, "{name}")


@pytest.mark.parametrize(("length", "verdict"), [("30 in", "stop"), ("31 in", "pass")])
def test_margin(length, verdict):
    # A 28 in draw, 10 mm for its spread, and 2 in past the back of the bow: 30.4 in.
    outcome = testing.judge(PLUGIN, settings={{"margin": "2 in"}}, arrow={{"length": length}})
    assert outcome.verdict == verdict


def test_conformance(conformance):
    conformance(PLUGIN)
'''
_README = """\
# {name}

Local rules for Drawmark.

| rule | what it does |
| --- | --- |
| `margin` | adds a floor: draw, growth, spread, back of the bow, and the setting `margin` |

The club's file turns it on:

```toml
[rulesets.evening]
required = ["{name}"]
settings.{name}.margin = "2 in"
```

Install it beside the service with `pip install .`, then restart the service. `python -m pytest` in
this folder runs its tests, and `drawmark plugin check {name}` tries it on random fittings. The
rules can only make an answer stricter.
"""


def write_plugin(name: str, folder: Path) -> Path:
    """Write it into a folder of its name; UserError for a bad name, or if something is there."""
    if not is_name(name):
        raise UserError(f"{name!r} is not a name: use lower-case words with hyphens between them")
    if name in (CORE, CLUB_FILE):
        raise UserError(f"{name!r} is taken: choose another name")
    module = name.replace("-", "_")
    if importlib.util.find_spec(module) is not None:
        raise UserError(f"{name!r} is taken: a module {module} is installed; choose another name")
    top = folder / name
    version = importlib.metadata.version("drawmark")
    words = {
        "name": name,
        "module": module,
        "group": GROUP,
        "version": version,
        "next": int(version.partition(".")[0]) + 1,
    }
    files = {
        "pyproject.toml": _PROJECT,
        "README.md": _README,
        f"{module}.py": _MODULE,
        f"tests/test_{module}.py": _TEST,
    }
    try:
        top.mkdir(parents=True)
        (top / "tests").mkdir()
        for path, text in files.items():
            (top / path).write_text(text.format(**words), encoding="utf-8")
    except FileExistsError:
        raise UserError(f"{top} is there already: nothing was written") from None
    except OSError as error:
        raise UserError(f"{top} cannot be written: {error.strerror}") from error
    return top
