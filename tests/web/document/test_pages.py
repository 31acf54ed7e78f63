"""The document as a page: what each operation takes, answers and refuses, and nothing loaded."""

from __future__ import annotations

import html
import json
import re

import pytest

from drawmark.web.document.examples import EXAMPLES
from drawmark.web.document.examples.answers import LINES, read_answers
from drawmark.web.document.openapi import document_of
from drawmark.web.document.pages import page_of, worded, written
from drawmark.web.wire.installed_rules import core_rules

DOCUMENT = document_of(core_rules())
PAGE = page_of(DOCUMENT)


def sections():
    """Cut the page into its operations."""
    pieces = re.split(r'<h2 id="([^"]+)">', PAGE)[1:]
    return dict(zip(pieces[::2], pieces[1::2], strict=True))


SECTIONS = sections()


def folded(name):
    """Give what is folded away under an operation, by its heading without markup."""
    found = re.findall(
        r"<details(?: open)?><summary>(.*?)</summary>(.*?)</details>", SECTIONS[name], re.DOTALL
    )
    return {re.sub("<[^>]+>", "", heading): inner for heading, inner in found}


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_calculation_shows_members_and_examples(path):
    shown = folded(path.replace("/", "-"))
    request = shown["Example of a request, application/json"]
    assert json.loads(html.unescape(re.sub("</?pre[^>]*>", "", request))) == EXAMPLES[path]
    for kind, answer in read_answers()[path].items():
        text = html.unescape(
            re.sub("</?pre>", "", shown[f"Example of the answer, {kind}"]).strip("\n")
        )
        if isinstance(answer, str):
            assert text == answer.strip("\n")
        else:
            assert json.loads(text) == answer
    for heading in ("Request", "Answer"):
        assert shown[heading].count("<tr") > 5
    assert "<th>422</th>" in shown["Problems"]


def test_lines_of_a_batch_are_shown_too():
    shown = folded("fit-check-batch")["Example of a request, application/x-ndjson"]
    assert html.unescape(re.sub("</?pre>", "", shown)).strip("\n") == LINES.strip("\n")


def test_row_says_all_there_is():
    (row,) = re.findall("<tr[^>]*><td><code>arm_span<.*?</tr>", folded("fit-check")["Request"])
    cells = re.findall("<td>(.*?)</td>", row)
    assert cells[1:3] == ["length", "unless draw_length or draws"]
    assert "cross-check" in cells[3]
    assert "800 to 2600 mm" in cells[3]
    assert 'class="d1"' in row


def test_problems_name_their_own_headers():
    rows = dict(
        re.findall("<tr><th>(.*?)</th><td>(.*?)</td></tr>", folded("fit-check")["Problems"])
    )
    assert "WWW-Authenticate" in rows["401"]
    assert "Retry-After" in rows["429"]
    assert "Header" not in rows["422"]


def test_page_is_as_wide_as_the_screen_and_loads_no_script():
    assert '<meta name="viewport" content="width=device-width' in PAGE
    assert re.findall("<script[^>]*>", PAGE) == ['<script type="module">']
    assert re.search("pre{[^}]*white-space:pre-wrap;overflow-wrap:anywhere", PAGE)


def test_units_and_headers_stand_once():
    assert PAGE.count("grain per inch") == 1
    assert PAGE.count("<th>traceparent</th>") == 1


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("one of `a`, `b`", "one of <code>a</code>, <code>b</code>"),
        ("`a<b`", "<code>a&lt;b</code>"),
        ("a ` alone", "a ` alone"),
    ],
)
def test_worded(text, shown):
    assert worded(text) == shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        pytest.param({"a": [1, 2.0]}, '{"a": [1, 2.0]}', id="fits a line"),
        pytest.param([], "[]", id="empty"),
        pytest.param(
            {"a": "x" * 40, "b": ["y" * 40]},
            '{\n  "a": "' + "x" * 40 + '",\n  "b": ["' + "y" * 40 + '"]\n}',
            id="does not",
        ),
    ],
)
def test_written(value, shown):
    assert written(value) == shown
    assert json.loads(shown) == value
