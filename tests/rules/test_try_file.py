"""`drawmark config check FILE --try EXAMPLES`: what each rule set says of example fit checks."""

import json

import pytest

from drawmark.cli import main

CLUB = """
default = "evening"

[rulesets.evening]
required = ["club-file/bow-weight"]

[[rulesets.evening.rules]]
id = "bow-weight"
fact = "draw_weight"
above = "24 lbf"
severity = "stop"
message = "Our hall lends bows of at most 24 lbf."

[rulesets.plain]
"""
CHECK = {
    "archer": {
        "draw_length": {"value": 26, "unit": "in"},
        "draw_length_convention": "standard",
    },
    "bow": {
        "kind": "recurve",
        "draw_weight": {"value": 30, "unit": "lbf"},
        "draw_weight_basis": "own_draw",
    },
    "arrow": {"length": {"value": 29, "unit": "in"}},
}
WEAK = {**CHECK, "bow": {"kind": "recurve"}, "ruleset": "evening"}
WRONG = {**CHECK, "arrow": {"length": {"value": 29, "unit": "gr"}}, "ruleset": "plain"}


def tried(tmp_path, capsys, text, club=CLUB):
    (tmp_path / "club.toml").write_text(club)
    (tmp_path / "examples").write_text(text)
    status = main(
        ["config", "check", str(tmp_path / "club.toml"), "--try", str(tmp_path / "examples")]
    )
    said = capsys.readouterr()
    return status, said.out.split("\n\n1", 1)[-1].splitlines(), said.err


@pytest.mark.parametrize(
    "text",
    [json.dumps([{"id": "a", **CHECK}]), json.dumps({"id": "a", **CHECK})],
    ids=["a list", "a line"],
)
def test_an_example_is_tried_in_every_rule_set(tmp_path, capsys, text):
    status, lines, _ = tried(tmp_path, capsys, text)
    assert status == 0
    assert lines == [
        " (a) in evening: stop",
        "  minimum 27.0 in",
        "  club-file/bow-weight: stop: Our hall lends bows of at most 24 lbf."
        " (measured 30.0 lbf, limit 24.0 lbf)",
        "",
        "1 (a) in plain: pass",
        "  minimum 27.0 in",
    ]


def test_an_example_may_name_its_rule_set_and_lack_a_field(tmp_path, capsys):
    status, lines, _ = tried(tmp_path, capsys, json.dumps(WEAK))
    assert status == 0
    assert lines[0] == " in evening: indeterminate"
    assert lines[1:] == [
        "  minimum 27.0 in",
        "  club-file/bow-weight: The rule is required and lacks what it needs. "
        "Give bow.draw_weight, and bow.draw_weight_basis, then ask again.",
    ]


def test_what_could_not_be_evaluated_is_told_with_its_reason(tmp_path, capsys):
    club = "[rulesets.lost]\nrequired = ['lane-plan']"
    _, lines, _ = tried(tmp_path, capsys, json.dumps(CHECK), club)
    assert lines == [
        " in lost: indeterminate",
        "  minimum at least 27.0 in",
        "  lane-plan: The plugin is required and not active: not installed.",
    ]


def test_an_example_that_is_refused_is_told_with_its_fault(tmp_path, capsys):
    status, lines, _ = tried(tmp_path, capsys, json.dumps(WRONG))
    assert status == 1
    assert lines[0].startswith(" in plain: REFUSED: ")
    assert lines[1].startswith("  #/arrow/length/unit: must be one of mm")


@pytest.mark.parametrize("text", ["[1]", "{", "nonsense"])
def test_a_file_that_holds_no_examples_is_one_line(tmp_path, capsys, text):
    status, _, error = tried(tmp_path, capsys, text)
    assert status == 2
    assert len(error.splitlines()) == 1


@pytest.mark.parametrize("text", ["", "\n\n", "[]", '{"items": []}'])
def test_a_file_that_holds_no_request_is_an_error(tmp_path, capsys, text):
    status, _, error = tried(tmp_path, capsys, text)
    assert (status, error) == (2, f"drawmark: {tmp_path / 'examples'} holds no request\n")


def test_a_file_that_is_not_there_is_one_line(tmp_path, capsys):
    (tmp_path / "club.toml").write_text(CLUB)
    assert main(["config", "check", str(tmp_path / "club.toml"), "--try", "none.json"]) == 2
    assert "none.json cannot be read: No such file" in capsys.readouterr().err
