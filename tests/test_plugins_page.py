"""What is written about the plugin API and the club's file names all there is, and nothing else."""

import inspect
import re
from pathlib import Path

import pytest

from drawmark import rules
from drawmark.fitting import fields
from drawmark.rules import club_file, kill_timer, testing, watch

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "service" / "docs" / "plugins.md").read_text(encoding="utf-8")


def named_in(heading):
    """Names in the first column of the table with a heading."""
    _, _, table = PAGE.partition(f"| {heading} |")
    rows = table.partition("\n\n")[0].splitlines()[2:]
    return [name for row in rows for name in re.findall(r"`(\w+)`", row.split("|")[1])]


@pytest.mark.parametrize("module", [rules, testing], ids=lambda module: module.__name__)
def test_every_public_name_stands_in_the_tables_once(module):
    assert sorted(named_in(f"from `{module.__name__}`")) == sorted(module.__all__)


@pytest.mark.parametrize(
    "thing",
    [
        pytest.param(getattr(module, name), id=f"{module.__name__}.{name}")
        for module in (rules, testing)
        for name in module.__all__
        if callable(getattr(module, name)) and hasattr(getattr(module, name), "__name__")
    ],
)
def test_every_public_function_and_class_is_explained(thing):
    text = inspect.getdoc(thing)
    assert text
    assert text.splitlines()[0].endswith(".")


@pytest.mark.parametrize("name", sorted(set(dir(fields)) & set(rules.__all__)))
def test_fields_of_a_plugin_are_those_of_the_core(name):
    assert getattr(rules, name) is getattr(fields, name)


def test_keys_of_the_clubs_file():
    (_, table) = PAGE.split("| key | what it says |\n| --- | --- |\n")
    keys = re.findall(r"^\| `([^`]+)` \|", table.partition("\n\n")[0], re.MULTILINE)
    assert keys == [
        "default",
        "rulesets.NAME",
        *("settings.PLUGIN" if key == "settings" else key for key in club_file.MEMBERS),
    ]


@pytest.mark.parametrize(
    ("words", "figure"),
    [
        ("runs over 250 ms", watch.TIME_LIMIT * 1000),
        ("for 2 s more", watch.STUCK_AFTER),
        ("ends with status 70", watch.EXIT_STUCK),
        ("over 2.25 s of processor time", kill_timer.HELD),
        ("ends by SIGPROF", None),
        ("with that lock for 10 s", kill_timer.WAITED),
    ],
)
def test_limits_are_those_of_the_watch(words, figure):
    assert words in PAGE
    if figure is None:
        assert kill_timer.SIGNAL.name in words
    else:
        assert f" {figure:g} " in f"{words} "
