"""The line at which a key of a TOML file begins."""

from time import process_time

import pytest

from drawmark.rules.toml_lines import line_of, lines_of

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
    assert line_of(lines_of(TEXT), key) == line


def test_a_table_before_its_fault_does_not_hide_it():
    assert line_of(lines_of("[a]\nx = 1\n[b]\n[a.c]\ny = 2\n"), "a.c.y") == 5


@pytest.mark.parametrize("text", [TEXT.replace("\n", "\r\n"), TEXT.rstrip("\n")])
def test_ends_of_lines_do_not_matter(text):
    assert line_of(lines_of(text), "rulesets.My.Set.settings.hall.least") == 21


@pytest.mark.parametrize(
    "before",
    [
        'a = """x\n"" # ] [\n"""""',
        "a = '''\n[b]\n'# '''",
        'a = "# [ \\" {" # ] "',
        "a = [ # ]\n  {b = '#', c = [1,\n2]}, # }\n]",
        "[[b.c]]\n[b.c.d]\n[[b.c]]",
        "a = ''\nb = \"\"",
    ],
)
def test_what_looks_like_the_end_of_a_statement_is_none(before):
    text = f"{before}\n# [x]\n\n[x]\ny.z = 1\n"
    lines, last = lines_of(text), text.count("\n")
    assert [line_of(lines, key) for key in ("x.y.z", "x.y.q", "x")] == [last, last, last - 1]


def test_a_table_within_one_of_a_list():
    part = "[[a]]\n[[a.b]]\n[a.b.c]\nd = 1\n"
    lines = lines_of(part + part)
    assert [line_of(lines, f"a.{at}.b.0.c.d") for at in (0, 1)] == [4, 8]


def test_a_long_file_takes_no_longer_for_many_keys():
    text = "".join(f"k{at} = [1,\n2]\n" for at in range(4000)) + 'l = """' + "\n" * 30_000 + '"""'
    begun = process_time()
    assert line_of(lines_of(text), "k3999") == 7999
    assert process_time() - begun < 2
