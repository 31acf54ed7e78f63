"""The line at which a key of a TOML file begins."""

import pytest

from drawmark.rules.toml_lines import line_of

TEXT = """\
# A remark.
default = "a"

[rulesets.a]
plugins = [
    "one",
    "two",
]

[[rulesets.a.rules]]
id = "first"

[[rulesets.a.rules]]
id = "second"
message = \"\"\"
Of two
lines.\"\"\"

[rulesets.'My.Set']
title = "x"
settings.hall.least = "28 in"
"""


@pytest.mark.parametrize(
    ("key", "line"),
    [
        ("default", 2),
        ("rulesets", 4),
        ("rulesets.a", 4),
        ("rulesets.a.plugins", 5),
        ("rulesets.a.rules", 10),
        ("rulesets.a.rules.0.id", 11),
        ("rulesets.a.rules.1", 13),
        ("rulesets.a.rules.1.message", 15),
        ("rulesets.My.Set.title", 20),
        ("rulesets.My.Set.settings.hall.least", 21),
        # What is not there: the nearest table above it.
        ("rulesets.a.title", 4),
        ("rulesets.a.rules.1.above", 13),
        ("rulesets.My.Set.settings.hall.most", 21),
        ("colour", None),
    ],
)
def test_line_of_a_key(key, line):
    assert line_of(TEXT, key) == line


def test_a_table_before_its_fault_does_not_hide_it():
    assert line_of("[a]\nx = 1\n[b]\n[a.c]\ny = 2\n", "a.c.y") == 5


@pytest.mark.parametrize("text", [TEXT.replace("\n", "\r\n"), TEXT.rstrip("\n")])
def test_ends_of_lines_do_not_matter(text):
    assert line_of(text, "rulesets.My.Set.settings.hall.least") == 21
