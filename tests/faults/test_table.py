"""The table of faults names a test for each, and each of them exists."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "service" / "docs" / "faults.md").read_text(encoding="utf-8")
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in PAGE.splitlines()
    if line.startswith("|")
][2:]


def functions_of(file: Path) -> set[str]:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


def test_there_is_a_table():
    assert len(ROWS) >= 15
    assert {len(row) for row in ROWS} == {3}


@pytest.mark.parametrize(("fault", "seen", "tests"), ROWS, ids=[row[0] for row in ROWS])
def test_each_fault_names_its_tests(fault, seen, tests):
    assert fault
    assert seen
    named = re.findall(r"`([\w/.]+)::(\w+)`", tests)
    assert named
    assert [(file, name) for file, name in named if name not in functions_of(ROOT / file)] == []
