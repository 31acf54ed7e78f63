"""What is written about the plugin API and the club's file names all there is, and nothing else."""

import inspect
import re
from pathlib import Path

import pytest

from drawmark import rules
from drawmark.fitting import fields
from drawmark.fitting.field_kinds import Quantity
from drawmark.rules import club_file, kill_timer, testing, watch
from drawmark.rules.reference import PARTS, parameters_in, reference

ROOT = Path(__file__).parents[1]
REFERENCE = ROOT / "service" / "docs" / "plugin-reference.md"
PAGE = (ROOT / "service" / "docs" / "plugins.md").read_text(encoding="utf-8")


def test_reference_is_what_the_code_says_of_itself():
    assert REFERENCE.read_text(encoding="utf-8") == reference()


@pytest.mark.parametrize("module", [rules, testing], ids=lambda module: module.__name__)
def test_every_public_name_stands_in_the_reference_once(module):
    _, _, table = reference().partition(f"\n## {module.__name__}\n")
    rows = re.findall(r"^\| `(\w+)` \| (.+) \|$", table.partition("\n### ")[0], re.MULTILINE)
    assert [name for name, _ in rows] == list(module.__all__)
    assert [name for name, words in rows if not words.endswith(".")] == []


@pytest.mark.parametrize(
    "cls", [rules.Archer, rules.Bow, rules.Arrow, *PARTS], ids=lambda cls: cls.__name__
)
def test_every_field_is_in_help_with_its_meaning_and_unit(cls):
    told = {name: words for names, _, words in parameters_in(inspect.getdoc(cls)) for name in names}
    assert list(told) == list(fields.specs_of(cls))
    for name, spec in fields.specs_of(cls).items():
        assert told[name].startswith(spec.doc.removesuffix("."))
        assert ("[" in told[name]) == isinstance(spec, Quantity)


@pytest.mark.parametrize(
    "cls", [rules.Facts, rules.Case, rules.Floor, rules.Ceiling, rules.Finding, rules.Measure]
)
def test_every_field_of_what_a_rule_sees_and_says_is_explained(cls):
    told = [name for names, _, _ in parameters_in(inspect.getdoc(cls)) for name in names]
    assert sorted(told) == sorted(cls.__struct_fields__)


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
