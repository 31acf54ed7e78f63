"""The tables of faults and of threats name tests for each, and each of them exists."""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGES = {"faults": 3, "threats": 4}
"""Each page, and how many columns its table has; the tests stand in the last."""


def rows_of(page: str) -> list[list[str]]:
    text = (ROOT / "service" / "docs" / f"{page}.md").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines][2:]


ROWS = [(page, row) for page in PAGES for row in rows_of(page)]


@cache
def functions_of(file: Path) -> set[str]:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


@pytest.mark.parametrize(("page", "columns"), PAGES.items())
def test_there_is_a_table(page, columns):
    rows = rows_of(page)
    assert len(rows) >= 15
    assert {len(row) for row in rows} == {columns}


@pytest.mark.parametrize(("page", "row"), ROWS, ids=[row[0] for _, row in ROWS])
def test_each_row_names_its_tests(page, row):
    *told, tests = row
    assert all(told)
    named = re.findall(r"`([\w/.]+)::(\w+)`", tests)
    assert named
    assert [(file, name) for file, name in named if name not in functions_of(ROOT / file)] == []
