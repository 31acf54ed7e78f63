"""Texts of public functions name the parameters of their signatures."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

SERVICE = Path(__file__).parents[1] / "service" / "drawmark"


def documented():
    """Find public functions and dataclasses whose text has a section of parameters."""
    for path in sorted(SERVICE.rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if not isinstance(node, ast.FunctionDef | ast.ClassDef) or node.name.startswith("_"):
                continue
            text = ast.get_docstring(node) or ""
            if "\nParameters\n----------\n" in text:
                name = ".".join((*path.relative_to(SERVICE).with_suffix("").parts, node.name))
                yield pytest.param(node, text, id=name)


def names_in_text(text):
    section = text.partition("\nParameters\n----------\n")[2]
    section = re.split(r"\n\w[\w ]*\n-{3,}\n", section)[0]
    rows = re.findall(r"^(\S.*?) : ", section, re.MULTILINE)
    return [name.strip().lstrip("*") for row in rows for name in row.split(",")]


def names_in_signature(node):
    if isinstance(node, ast.ClassDef):
        for part in node.body:
            if isinstance(part, ast.FunctionDef) and part.name == "__init__":
                return names_in_signature(part)[1:]
        return [
            part.target.id
            for part in node.body
            if isinstance(part, ast.AnnAssign) and "init=False" not in ast.unparse(part)
        ]
    given = node.args
    every = [*given.posonlyargs, *given.args, given.vararg, *given.kwonlyargs, given.kwarg]
    return [one.arg for one in every if one is not None]


@pytest.mark.parametrize(("node", "text"), list(documented()))
def test_parameters_are_those_of_the_signature(node, text):
    assert names_in_text(text) == names_in_signature(node)
