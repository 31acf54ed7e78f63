"""The order sheet opens in a spreadsheet, and no cell of it can start a formula."""

from __future__ import annotations

import copy
import csv
import io
import re
import unicodedata

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.installed_rules import core_rules
from drawmark.web.wire.order_sheet import COLUMNS, guard, write_sheet

CLIENT = create_app(rules=core_rules()).test_client()
SIGNS = set("=+-@")


def post(body, accept):
    return CLIENT.post("/v1/order", json=body, headers={"Accept": accept})


def read(data, delimiter=","):
    text = data.decode("utf-8-sig")
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))


ANSWER = post(EXAMPLES["order"], "application/json").get_json()


def starts_formula(cell):
    """Signs and their full-width forms, also behind blanks (common practice for CSV)."""
    bare = "".join(sign for sign in cell if unicodedata.category(sign) not in ("Cc", "Cf")).lstrip()
    return unicodedata.normalize("NFKC", bare[:1])[:1] in SIGNS


def named(shaft, identity, reason="plain"):
    """The sheet of an answer with texts of somebody else's."""
    answer = copy.deepcopy(ANSWER)
    for line in answer["lines"]:
        line["shaft"], line["sets"] = shaft, [identity, shaft]
    answer["sets"] = [{**answer["sets"][0], "id": one} for one in (identity, shaft)]
    answer["unevaluated"] = [{"plugin": identity, "rule": shaft, "reason": reason}]
    answer["not_checked"] = [{"what": reason, "fields": []}]
    return write_sheet(answer)


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("lake 700", "lake 700"),
        ("=1+1", "'=1+1"),
        ("+1", "'+1"),
        ("-1", "'-1"),
        ("@a", "'@a"),
        ("\t=1", "'=1"),
        ("\r\n=1", "'=1"),
        ("  =1", "'=1"),
        ("\uff1d1", "'\uff1d1"),
        ("\uff0b1", "'\uff0b1"),
        ("\uff0d1", "'\uff0d1"),
        ("\uff20a", "'\uff20a"),
        ("\u22121", "'\u22121"),
        ("\u200b=1", "'=1"),
        ("\ufeff=1", "'=1"),
        ("a;=1", "a;'=1"),
        ('a",=1', "a\",'=1"),
        ("Jan-Willem", "Jan-Willem"),
        ("a\nb", "a b"),
        ("", ""),
    ],
)
def test_guard(text, kept):
    assert guard(text) == kept


@settings(max_examples=100)
@given(st.text(max_size=30), st.text(alphabet="=+-@\t\r\n\uff1d\uff0b ;,'\"|a1", max_size=12))
@example("\uff1d\uff1d", "';=|@SUM(1)")
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_no_cell_starts_a_formula(delimiter, shaft, identity):
    for row in read(named(shaft, identity, shaft), delimiter):
        assert [cell for cell in row if starts_formula(cell)] == []
        if delimiter == ",":
            assert [cell for cell in row if cell[:1].isspace()] == []


@settings(max_examples=60)
@given(st.text(max_size=30), st.text(max_size=30))
def test_rows_are_as_wide_as_the_head(shaft, identity):
    rows = read(named(shaft, identity))
    assert tuple(rows[0]) == COLUMNS
    assert {len(row) for row in rows} == {len(COLUMNS)}


def test_sheet_says_what_the_json_says():
    body = EXAMPLES["order"]
    answer = post(body, "application/json").get_json()
    head, *rows = read(post(body, "text/csv").data)
    rows = [dict(zip(head, row, strict=True)) for row in rows]
    lines = [row for row in rows if row["kind"] == "line"]
    for row, line in zip(lines, answer["lines"], strict=True):
        assert float(row["arrow_length"]) == line["arrow_length"]["value"]
        assert float(row["tube_length"]) == line["tube_length"]["value"]
        assert row["unit"] == line["arrow_length"]["unit"]
        assert int(row["count"]) == line["count"]
        assert row["uncut"] == ("yes" if line["uncut"] else "no")
    (total,) = (row for row in rows if row["kind"] == "total")
    assert int(total["count"]) == answer["total"]
    cautions = [row["note"] for row in rows if row["kind"] == "caution"]
    assert cautions == answer["cautions"]
    # Hazards to say to whoever cuts, in plain words.
    for word in ("cannot be undone", "eye protection", "respirator", "never a hacksaw"):
        assert word in " ".join(cautions)


@pytest.mark.parametrize(
    "ids",
    [
        pytest.param(["a", "b"], id="usual"),
        pytest.param(["a / b", "a", "b"], id="like two others together"),
        pytest.param(["a /", "/ b", "a", "b", "/"], id="lone slashes at the ends"),
        pytest.param(["a\tb", "a b", "a\nb ", " a b"], id="alike once they are one line"),
        pytest.param(["", " ", "(set 2)"], id="empty"),
        pytest.param(["=1", "'=1", "\t=1"], id="formulas"),
        pytest.param(["U12/1", "U12/2"], id="with a slash inside"),
    ],
)
def test_sets_are_kept_apart(ids):
    answer = copy.deepcopy(ANSWER)
    answer["lines"] = [{**answer["lines"][0], "sets": ids}]
    answer["sets"] = [{**answer["sets"][0], "id": one} for one in ids]
    kind, sets = COLUMNS.index("kind"), COLUMNS.index("sets")
    rows = read(write_sheet(answer))
    names = [row[sets] for row in rows if row[kind] == "set"]
    assert len(set(names)) == len(ids)
    (line,) = (row[sets] for row in rows if row[kind] == "line")
    assert line.split(" / ") == names
    if ids in (["a", "b"], ["U12/1", "U12/2"]):
        assert names == ids


def test_lines_end_as_rfc_4180_has_it():
    text = post(EXAMPLES["order"], "text/csv").data.decode("utf-8-sig")
    assert text.endswith("\r\n")
    assert re.findall(r"[^\r]\n", text) == []


def test_the_sheet_tells_what_the_fit_check_has_against_a_set():
    body = copy.deepcopy(EXAMPLES["order"])
    archer = next(one for one in body["sets"] if "archer" in one)
    archer["bow"] = {"kind": "compound", "maximum_draw": {"value": 25, "unit": "in"}}
    rows = read(post(body, "text/csv").data)
    kind, note, sets = (COLUMNS.index(name) for name in ("kind", "note", "sets"))
    (told,) = (row[note] for row in rows if row[kind] == "set" and row[sets] == archer["id"])
    assert "Order the set uncut" in told
    assert " Stop: The draw" in told
