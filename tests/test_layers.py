"""Data flows one way, and docstrings say what signatures say."""

from __future__ import annotations

import ast
import dataclasses
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest

import drawmark
from drawmark.fitting.sources import SOURCES

PACKAGE = Path(drawmark.__path__[0])
MODULES = sorted(
    one.name
    for one in pkgutil.walk_packages(drawmark.__path__, "drawmark.")
    if not one.name.endswith("__main__")
)


@pytest.mark.parametrize(
    "module",
    ["drawmark.fitting", "drawmark.fitting.facts", "drawmark.rules", "drawmark.answers.fit_check"],
)
def test_lower_layers_load_no_web_framework(module):
    code = (
        f"import sys, {module}; "
        "print({'flask', 'werkzeug', 'marshmallow', 'apispec', 'gunicorn'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


@pytest.mark.parametrize("module", ["drawmark.fitting", "drawmark.rules", "drawmark.web"])
def test_running_loads_no_slow_statistics(module):
    code = f"import sys, {module}; print('scipy.stats' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


# gunicorn reads its settings from the environment once it is imported.
@pytest.mark.parametrize(
    ("module", "unwanted"),
    [
        ("drawmark.web", {"gunicorn"}),
        ("drawmark.tokens", {"gunicorn", "flask", "numpy", "scipy"}),
    ],
)
def test_what_is_not_loaded_before_it_is_needed(module, unwanted):
    code = f"import sys, {module}; print({unwanted} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


def described(docstring, section):
    """Names that a section of a docstring lists."""
    found = re.search(rf"^{section}\n-+\n((?:.+\n?|\n(?!\S+\n-))*)", docstring, re.MULTILINE)
    if found is None:
        return None
    lines = re.findall(r"^(\w[\w, ]*) : ", found.group(1), re.MULTILINE)
    return [name for line in lines for name in line.split(", ")]


def public(module):
    """Public classes and functions that a module defines, methods among them."""
    for name, member in vars(module).items():
        if name.startswith("_") or getattr(member, "__module__", None) != module.__name__:
            continue
        if inspect.isclass(member):
            yield name, member
            for inner, method in vars(member).items():
                if not inner.startswith("_") and inspect.isfunction(method):
                    yield f"{name}.{inner}", method
        elif callable(member):
            yield name, inspect.unwrap(member)


def parameters_of(member):
    if dataclasses.is_dataclass(member):
        return [one.name for one in dataclasses.fields(member) if one.init]
    if isinstance(member, type) and issubclass(member, msgspec.Struct):
        return [one.name for one in msgspec.structs.fields(member)]
    return [name for name in inspect.signature(member).parameters if name != "self"]


@pytest.mark.parametrize("name", MODULES)
def test_docstring_names_the_parameters_of_its_signature(name):
    module = importlib.import_module(name)
    for where, member in public(module):
        listed = described(inspect.getdoc(member) or "", "Parameters")
        if listed is not None:
            assert listed == parameters_of(member), where


def docstrings(path):
    """Every docstring of a file, with the name of what it belongs to."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            yield getattr(node, "name", path.stem), inspect.cleandoc(ast.get_docstring(node) or "")


def references(docstring):
    """Lines of the section of references, numbered as ``.. [1] key`` or as ``1. key``."""
    _, _, below = docstring.partition("References\n----------\n")
    return re.sub(r"\n\S+\n-+\n(?s:.*)", "", below).split("\n") if below else []


CITED = [
    (f"{path.relative_to(PACKAGE)}:{name}", line)
    for path in sorted(PACKAGE.rglob("*.py"))
    for name, docstring in docstrings(path)
    for line in references(docstring)
    if line.strip()
]


def test_references_are_keys_of_sources():
    cited = {
        (where, line): re.fullmatch(r"(?:\.\. \[\d+\]|\d+\.) (\S+)", line) for where, line in CITED
    }
    assert [one for one, key in cited.items() if key is None or key.group(1) not in SOURCES] == []


def test_every_section_of_references_is_read():
    sections = sum(
        len(re.findall(r"^ *References\n *-{10}$", path.read_text(encoding="utf-8"), re.MULTILINE))
        for path in PACKAGE.rglob("*.py")
    )
    assert sections == len({where for where, _ in CITED}) > 0
