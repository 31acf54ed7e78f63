"""Data flows one way, and docstrings say what signatures say."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys

import msgspec
import pytest

import drawmark
from drawmark.fitting.sources import SOURCES

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


@pytest.mark.parametrize("name", [one for one in MODULES if one.startswith("drawmark.fitting")])
def test_references_are_keys_of_sources(name):
    module = importlib.import_module(name)
    for where, member in public(module):
        text = inspect.getdoc(member) or ""
        _, _, references = text.partition("References\n----------\n")
        for key in re.findall(r"^\.\. \[\d+\] (\S+)", references, re.MULTILINE):
            assert key in SOURCES, where
