"""Writes the reference of the plugin API out of what the code says of itself.

python -m drawmark.rules.reference > service/docs/plugin-reference.md
"""

from __future__ import annotations

import inspect
import re
import sys
from collections.abc import Iterator
from types import ModuleType
from typing import Any, Final

from drawmark import rules
from drawmark.fitting import model
from drawmark.rules import testing

PARTS: Final = (
    *(model.ClickerRange, model.Shaft, model.Station, model.Point, model.Insert, model.Nock),
    *(model.Fletching, model.Wrap),
)
"""What stands in a bow or an arrow, beside the names of the API."""
_HEAD: Final = """\
# Reference of the plugin API

For the author of a [plugin](plugins.md). This page is made of what the code says of itself, as
`help` shows it: `python -m drawmark.rules.reference` prints it. Figures are in SI units, in square
brackets. In a batch a figure may be a column, an array of numpy with a figure for each item, and a
truth a mask. None means not given.

This is version {version} of the API.
"""


def reference() -> str:
    """Give the page."""
    lines = [_HEAD.format(version=rules.API_VERSION)]
    for module in (rules, testing):
        lines += [f"\n## {module.__name__}\n", "| name | what it is |", "| --- | --- |"]
        lines += [f"| `{name}` | {_summary(module, name)} |" for name in module.__all__]
        for name in module.__all__:
            lines += _entry(name, getattr(module, name))
    lines.append("\n## Parts of a bow and an arrow")
    for cls in PARTS:
        lines += _entry(cls.__name__, cls)
    return "\n".join(lines) + "\n"


def _summary(module: ModuleType, name: str) -> str:
    value = getattr(module, name)
    words = {"Real": "A figure or a column of figures.", "Truth": "A truth or a mask."}
    words |= {
        "Said": "Whatever a rule may say: a floor, a ceiling or a finding.",
        "API_VERSION": f"`{rules.API_VERSION}`. It grows by 0.1 with what is added.",
        "hookimpl": "Marks the plugin's one hook, `drawmark_rules`.",
    }
    return words.get(name) or _first(inspect.getdoc(value) or "")


def _first(text: str) -> str:
    return " ".join(text.partition("\n\n")[0].split())


def _entry(name: str, value: Any) -> Iterator[str]:
    text = inspect.getdoc(value) or ""
    rows = list(parameters_in(text))
    if not rows:
        return
    yield f"\n### {name}\n"
    yield f"{_first(text)}\n"
    yield f"| {'field' if isinstance(value, type) else 'parameter'} | what it holds | meaning |"
    yield "| --- | --- | --- |"
    for names, kind, meaning in rows:
        shown = ", ".join(f"`{one}`" for one in names)
        yield f"| {shown} | {kind.replace('|', 'or')} | {meaning.replace('|', 'or')} |"


def parameters_in(text: str) -> Iterator[tuple[list[str], str, str]]:
    """Give names, kind and meaning of each parameter that a docstring lists."""
    _, found, below = text.partition("Parameters\n----------\n")
    section = re.split(r"\n\n\S+\n-{3,}\n", below)[0] if found else ""
    for match in re.finditer(r"^(\w[\w, ]*) : (.*)\n((?:    .*\n?|\n(?=    ))+)", section, re.M):
        names = match[1].split(", ")
        yield names, match[2].strip(), " ".join(match[3].split())


if __name__ == "__main__":
    sys.stdout.write(reference())
